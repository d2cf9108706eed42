package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// RemarksListed says what stands out on the list that is to be rated: the ids of one
// assumption, or of two that look alike. They are kept as they were found, since a later
// release may find others.
type RemarksListed struct{ Remarks [][]string }

func (e RemarksListed) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Tidying = state.Tidying{Until: k.Window.Until, Left: k.Tidying.Left, Asked: k.Tidying.Asked, Found: k.Tidying.Found}
	for _, about := range e.Remarks {
		state.Add(k, &k.Tidying.Remarks, state.Remark{About: about})
	}
	moveTidying(k)
}

// RemarksLeft lets remarks, numbered from 1, stay as they are.
type RemarksLeft struct{ N []int }

func (e RemarksLeft) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	for _, n := range e.N {
		f := remarkOf(k, n)
		f.Settled = true
		if !state.HasLeft(k, f.About) {
			state.Add(k, &k.Tidying.Left, state.LeftAsIs{About: f.About, Texts: state.TextsOf(k, f.About)})
		}
	}
	moveTidying(k)
}

// AssumptionSentBack asks whoever wrote an assumption to look at it again.
type AssumptionSentBack struct {
	N     int // of the remark about it
	Word  string
	Until time.Time
}

func (e AssumptionSentBack) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	f := remarkOf(k, e.N)
	f.Word, f.Until = e.Word, e.Until
	moveTidying(k)
}

// AlikeAsked asks people which assumptions say the same in other words, each until a time
// of theirs.
type AlikeAsked struct {
	Until map[state.UserID]time.Time
}

func (e AlikeAsked) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	for u, until := range e.Until {
		state.Put(k, &k.Tidying.Asked, u, until)
	}
	moveTidying(k)
}

// AlikeFound says which pairs somebody found who was asked. A lead has until Until for
// what is new among them.
type AlikeFound struct {
	Pairs [][]string `json:",omitempty"`
	Until time.Time
}

func (e AlikeFound) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Tidying.Found, by, e.Pairs)
	if k.Stage != state.StageTidying {
		return
	}
	for _, pair := range e.Pairs {
		if !slices.ContainsFunc(k.Tidying.Remarks, func(r state.Remark) bool { return slices.Equal(r.About, pair) }) {
			state.Add(k, &k.Tidying.Remarks, state.Remark{About: pair})
			k.Tidying.Until = e.Until
		}
	}
	moveTidying(k)
}

// remarkOf is a remark of which the journal speaks, to be changed.
func remarkOf(k *state.Kickoff, n int) *state.Remark {
	return &state.Own(k, &k.Tidying.Remarks)[n-1]
}

// mended settles what was found about an assumption that has changed. Two that look
// alike are settled once one of them is gone.
func mended(k *state.Kickoff, id string, gone bool) {
	if k.Stage != state.StageTidying {
		return
	}
	for i := range state.Own(k, &k.Tidying.Remarks) {
		if f := &k.Tidying.Remarks[i]; slices.Contains(f.About, id) && (gone || len(f.About) == 1) {
			f.Settled = true
		}
	}
	moveTidying(k)
}

// moveTidying says until when the rating waits: for a lead who has not looked at
// everything, for authors, and for those who were asked what says the same.
func moveTidying(k *state.Kickoff) {
	if k.Stage != state.StageTidying {
		return
	}
	var others time.Time
	for _, f := range k.Tidying.Remarks {
		if f.Waits() && f.Until.After(others) {
			others = f.Until
		}
	}
	for _, u := range state.OwingAlike(k) {
		if until := k.Tidying.Asked[u]; until.After(others) {
			others = until
		}
	}
	until := k.Tidying.Until
	if !others.IsZero() && (len(k.Tidying.Unseen()) == 0 || others.After(until)) {
		until = others
	}
	k.Window.Until = until
}
