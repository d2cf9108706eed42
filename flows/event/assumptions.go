package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// AssumptionAdded adds a belief under its id. One that was a part of another
// is its author's, whoever took that apart.
type AssumptionAdded struct {
	ID, Text, Because string
	Of                string `json:",omitempty"` // the assumption that it was a part of
	Drafted           bool   `json:",omitempty"`
	Since             int    `json:",omitempty"` // the check-in at which it is rated first; 0 for those of the kickoff
}

func (e AssumptionAdded) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	if e.Of != "" {
		by = assumptionOf(k, e.Of).By
	}
	state.Add(k, &k.Assumptions, state.Assumption{ID: e.ID, By: by, Text: e.Text, Because: e.Because, Drafted: e.Drafted, Since: e.Since})
}

// AssumptionEdited changes the words of a belief. A machine's draft stays one
// as long as its words stand.
type AssumptionEdited struct {
	ID, Text, Because string
	Drafted           bool `json:",omitempty"`
}

func (e AssumptionEdited) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	a := assumptionOf(k, e.ID)
	if a.Text != e.Text {
		for i := range state.Own(k, &k.Rounds) { // what people rated was something else
			forgetRatings(k, &k.Rounds[i], func(id string) bool { return id == e.ID })
		}
		a.Drafted = false
	}
	a.Drafted = a.Drafted || e.Drafted
	a.Text, a.Because = e.Text, e.Because
	mended(k, e.ID, false)
}

// AssumptionWithdrawn takes a belief off the list; its id is not used again.
// What it stood for stands by itself again: that was others' to withdraw.
type AssumptionWithdrawn struct{ ID string }

func (e AssumptionWithdrawn) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	withdrawn := assumptionOf(k, e.ID)
	withdrawn.Withdrawn, withdrawn.Wordings = true, nil
	for i := range k.Assumptions { // ours by now
		if k.Assumptions[i].JoinedTo == e.ID {
			k.Assumptions[i].JoinedTo = ""
		}
	}
	mended(k, e.ID, true)
}

// AssumptionsJoined lets Keep stand for Join.
type AssumptionsJoined struct {
	Keep string
	Join []string
}

func (e AssumptionsJoined) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	keep := assumptionOf(k, e.Keep)
	for _, id := range e.Join {
		joined := assumptionOf(k, id)
		joined.JoinedTo = e.Keep
		state.Add(k, &keep.Wordings, joined.Text)
		state.Add(k, &keep.Wordings, joined.Wordings...)
		mended(k, id, true)
	}
}

// assumptionOf is an assumption of which the journal speaks, to be changed.
func assumptionOf(k *state.Kickoff, id string) *state.Assumption {
	at := slices.IndexFunc(k.Assumptions, func(a state.Assumption) bool { return a.ID == id })
	if at < 0 {
		panic("flows: the journal speaks of assumption " + id + ", which was never added")
	}
	return &state.Own(k, &k.Assumptions)[at]
}
