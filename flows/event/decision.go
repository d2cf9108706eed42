package event

import (
	"cmp"
	"time"

	"soundings/flows/state"
)

// DecisionOpened asks everybody: build, stop, or another time box?
type DecisionOpened struct {
	Early  bool `json:",omitempty"`
	Closes time.Time
}

func (e DecisionOpened) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	earlier := k.Underway.Decision.Earlier
	k.Underway.Decision = state.Decision{Opened: at, Closes: e.Closes, Early: e.Early, Phase: state.PhaseOpen, Earlier: earlier}
}

// DecisionVoted is one person's choice.
type DecisionVoted struct {
	Choice state.Choice
	Weeks  int `json:",omitempty"`
}

func (e DecisionVoted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Underway.Decision.Votes, by, state.DecisionVote(e))
}

// DecisionCounted ends the vote; the lead settles it.
type DecisionCounted struct {
	Until   time.Time
	Counted *state.DecisionTally `json:",omitempty"` // nil when the leads are only asked again
}

func (e DecisionCounted) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	d := &k.Underway.Decision
	d.Phase, d.Until, d.Counted = state.PhaseSettling, e.Until, cmp.Or(e.Counted, d.Counted)
}

// DecisionMade ends the time box: to build, to stop, or with another one.
type DecisionMade struct {
	N      int // of the decision, from 1
	Choice state.Choice
	Weeks  int    `json:",omitempty"`
	Why    string `json:",omitempty"`

	Counted *state.DecisionTally `json:",omitempty"` // where they were not before
}

func (e DecisionMade) Apply(k *state.Kickoff, at time.Time, by state.UserID) {
	d := k.Underway.Decision
	if e.Counted != nil {
		d.Counted, d.Votes = e.Counted, nil
	}
	d.Phase, d.Set, d.Weeks, d.SetBy, d.Why, d.At = state.PhaseClosed, e.Choice, e.Weeks, by, e.Why, at
	if e.Choice == state.Another {
		earlier := d.Earlier
		d.Earlier = nil
		state.Add(k, &earlier, d)
		k.Underway.Decision = state.Decision{Earlier: earlier}
		return
	}
	k.Underway.Decision = d
	k.Stage = state.StageEnded
	k.Window.Stage, k.Window.Phase = state.StageEnded, state.PhaseClosed
}
