package event

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"soundings/engine"
	"soundings/flows/state"
)

// RoundOpened begins a blind pass over the assumptions named. What was
// entered about them before a stage was opened again stays on the ballots.
type RoundOpened struct {
	N   int
	IDs []string

	// How a long list is dealt out; nothing where everybody rates all of it.
	Each   int                       `json:",omitempty"`
	Second int                       `json:",omitempty"`
	Dealt  map[state.UserID][]string `json:",omitempty"`
}

func (e RoundOpened) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	round := state.Round{N: e.N, IDs: e.IDs, Each: e.Each, Second: e.Second, Dealt: e.Dealt}
	if len(k.Rounds) >= e.N {
		round.Ballots = k.Rounds[e.N-1].Ballots
		forgetRatings(k, &round, func(id string) bool { return !slices.Contains(e.IDs, id) })
	}
	k.Rounds = k.Rounds[:e.N-1]
	state.Add(k, &k.Rounds, round)
}

// forgetRatings takes assumptions off the ballots of a round.
func forgetRatings(k *state.Kickoff, r *state.Round, of func(id string) bool) {
	for u, ballot := range r.Ballots {
		for id := range ballot {
			if of(id) {
				state.Drop(k, &ballot, id)
				state.Put(k, &r.Ballots, u, ballot)
			}
		}
	}
}

// Rated is one entry on a ballot. Ratings commute, so they are appended
// unchecked, and one that lands after its round has closed is ignored here.
type Rated struct {
	Round      int
	Assumption string
	Scale      state.Scale
	Value      int
	Because    string `json:",omitempty"` // of solid evidence; empty leaves what was said before
}

func (e Rated) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	if k.Stage != state.StageRating || k.Window.Phase != state.PhaseOpen || k.Window.Round != e.Round {
		return
	}
	r := &state.Own(k, &k.Rounds)[len(k.Rounds)-1]
	ballot := r.Ballots[by]
	m := ballot[e.Assumption]
	if e.Scale == state.Importance {
		m.Importance = e.Value
	} else {
		m.Evidence = e.Value
		m.Because = cmp.Or(e.Because, m.Because)
	}
	if m.Evidence < state.SolidEvidence {
		m.Because = ""
	}
	state.Put(k, &ballot, e.Assumption, m)
	state.Put(k, &r.Ballots, by, ballot)
}

// clearRounds takes back the map of round n, and the later rounds. What
// people entered in round n stays on their ballots.
func clearRounds(k *state.Kickoff, n int) {
	if len(k.Rounds) < n {
		return
	}
	k.Rounds = k.Rounds[:n]
	r := &state.Own(k, &k.Rounds)[n-1]
	r.Result, r.Splits, r.Camps, r.Rule, r.Partly, r.Because, r.Sides = nil, nil, nil, "", 0, nil, state.Sides{}
}

// clearAllRounds is for when the list that is rated is opened again.
func clearAllRounds(k *state.Kickoff, _ int) { clearRounds(k, 1) }

// RoundCounted is the map of a round, kept as it was shown: a later release
// with other figures must not change what people decided upon.
type RoundCounted struct {
	N      int
	Result engine.Result
	Splits []string               `json:",omitempty"`
	Camps  map[string]state.Camps `json:",omitempty"` // by assumption
	Rule   state.Rule             `json:",omitempty"`
	Partly int                    `json:",omitempty"` // of the raters: who answered for less than half of their ballot

	// On what those rest who rated the evidence as solid: by assumption, in the order of
	// the alphabet, so that it does not tell who said what.
	Because map[string][]string `json:",omitempty"`

	Sides state.Sides `json:",omitzero"`
}

func (e RoundCounted) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	r := &state.Own(k, &k.Rounds)[e.N-1]
	r.Result, r.Splits, r.Camps, r.Rule, r.Partly, r.Because, r.Sides = &e.Result, e.Splits, e.Camps, e.Rule, e.Partly, e.Because, e.Sides
	for slot, at := range k.Posted { // a picture that stands shows what was counted before
		if at.Picture != "" && strings.HasPrefix(slot, "result/") {
			at.Picture = ""
			state.Put(k, &k.Posted, slot, at)
		}
	}
}

// ReasonGiven adds a reason. An unsigned one keeps no name in the state.
type ReasonGiven struct {
	N          int
	Assumption string
	Text       string
	Signed     bool
}

func (e ReasonGiven) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	r := state.Reason{N: e.N, Assumption: e.Assumption, Text: e.Text}
	if e.Signed {
		r.By = by
	}
	state.Add(k, &k.Reasons, r)
}
