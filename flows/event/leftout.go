package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// StagesLeftOut says which stages are passed over from now on, all of them: one that
// was among them before and is not any more is taken up again.
type StagesLeftOut struct {
	Stages    []state.Stage  `json:",omitempty"`
	NotRating []state.UserID `json:",omitempty"` // leads whose own ratings are left out from now on, all of them
}

func (e StagesLeftOut) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.LeftOut, k.NotRating = orNil(e.Stages), orNil(e.NotRating)
	for n := range k.Rounds {
		for _, u := range e.NotRating {
			forgetBallot(k, n, u)
		}
	}
}

// forgetBallot takes back what somebody rated before the list was opened again.
func forgetBallot(k *state.Kickoff, n int, u state.UserID) {
	if len(k.Rounds[n].Ballots[u]) == 0 {
		return
	}
	r := &state.Own(k, &k.Rounds)[n]
	if state.Drop(k, &r.Ballots, u); len(r.Ballots) == 0 {
		r.Ballots = nil // as in a record whose boxes nobody can open
	}
}

// leaveOut adds a stage to those that are passed over.
func leaveOut(k *state.Kickoff, s state.Stage) {
	if !slices.Contains(k.LeftOut, s) {
		k.LeftOut = append(slices.Clone(k.LeftOut), s)
	}
}

// takeUp takes a stage out of those that are passed over: it opens all the same, as
// that of assumptions does where there is no list.
func takeUp(k *state.Kickoff, s state.Stage) {
	if !slices.Contains(k.LeftOut, s) {
		return
	}
	k.LeftOut = orNil(slices.DeleteFunc(slices.Clone(k.LeftOut), func(out state.Stage) bool { return out == s }))
}

// orNil copies a list. None and an empty one are one in the journal, so in the state too.
func orNil[T any](list []T) []T {
	if len(list) == 0 {
		return nil
	}
	return slices.Clone(list)
}

// SummaryEnded ends a kickoff without a time box: its summary is all that it was to
// come to.
type SummaryEnded struct{}

func (SummaryEnded) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	shelveWindow(k)
	k.Stage = state.StageEnded
	k.Window = state.Window{Stage: state.StageEnded, Phase: state.PhaseClosed, Opened: at, Closed: at}
}
