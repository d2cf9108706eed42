package event

import (
	"time"

	"soundings/flows/state"
)

// ActionAdded adds an action under its number.
type ActionAdded struct {
	N     int
	What  string
	Owner state.UserID
	Due   state.LocalDay
	For   string `json:",omitempty"` // as in state.Action
}

func (e ActionAdded) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Add(k, &k.Actions, state.Action{N: e.N, What: e.What, Owner: e.Owner, Due: e.Due, For: e.For})
}

// ActionEdited changes an action.
type ActionEdited ActionAdded

func (e ActionEdited) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	a := &state.Own(k, &k.Actions)[e.N-1]
	if a.Due != e.Due {
		a.Done = "" // whoever sets a new day has more to do
	}
	a.What, a.Owner, a.Due = e.What, e.Owner, e.Due
}

// ActionDone says that an action is done, and on which day its owner or a lead
// said so.
type ActionDone struct {
	N  int
	On state.LocalDay
}

func (e ActionDone) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Own(k, &k.Actions)[e.N-1].Done = e.On
}

// ActionWithdrawn takes an action off the list; its number is not used again.
type ActionWithdrawn struct{ N int }

func (e ActionWithdrawn) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Own(k, &k.Actions)[e.N-1].Withdrawn = true
}

// SummaryPosted marks the moment at which the summary goes out.
type SummaryPosted struct{}

func (SummaryPosted) Apply(*state.Kickoff, time.Time, state.UserID) {}
