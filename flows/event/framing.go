package event

import (
	"time"

	"soundings/engine"
	"soundings/flows/state"
)

// WordingAdded adds a rung's wording.
type WordingAdded struct {
	N       int
	Level   int
	Text    string
	Drafted bool `json:",omitempty"`
	Began   bool `json:",omitempty"` // it began as a machine's draft, and was edited before it was added
}

func (e WordingAdded) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Add(k, &k.Framing.Wordings, state.Wording{N: e.N, By: by, Level: e.Level, Text: e.Text, Drafted: e.Drafted, Began: e.Drafted || e.Began})
}

// WordingEdited changes a wording. A draft that a person edited is no machine's
// any more; that it began as one stays true.
type WordingEdited struct {
	N     int
	Level int
	Text  string
}

func (e WordingEdited) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	w := &state.Own(k, &k.Framing.Wordings)[e.N-1]
	w.Level, w.Text, w.Drafted = e.Level, e.Text, false
}

// FramingVoted is one person's choice; the last one counts.
type FramingVoted state.FramingVote

func (e FramingVoted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Framing.Votes, by, state.FramingVote(e))
}

// FramingCounted is the result of the choice, before the lead settles it.
type FramingCounted struct {
	Level    engine.LadderLevel
	Proposed int
	Ticks    []int `json:",omitempty"` // from the original on
}

func (e FramingCounted) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Framing.Level, k.Framing.Proposed, k.Framing.Ticked = e.Level, e.Proposed, e.Ticks
}

func clearFraming(k *state.Kickoff, _ int) { k.Framing.Settled, k.Framing.Ticked = false, nil }

// FramingSettled is the problem on which the rest stands.
type FramingSettled struct {
	Problem string
	Level   int
}

func (e FramingSettled) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	f := &k.Framing
	f.Settled, f.SettledBy, f.Problem, f.AtLevel = true, by, e.Problem, e.Level
}
