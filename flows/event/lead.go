package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// CloseWished notes that a lead wishes to close below quorum.
type CloseWished struct{}

func (CloseWished) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Window.Wishes, by, true)
}

// WindowMoved changes when the open window closes.
type WindowMoved struct {
	Stage  state.Stage
	Closes time.Time
}

func (e WindowMoved) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) { k.Window.Closes = e.Closes }

// StageReopened opens a closed stage again, with its answers as they were,
// and asks whoever takes part now.
type StageReopened struct {
	Stage     state.Stage
	Round     int `json:",omitempty"`
	Closes    time.Time
	Asked     []state.UserID
	Left      state.Stage `json:",omitempty"` // the stage that was open; it will come again
	LeftRound int         `json:",omitempty"`

	// The stage had been left out, and is taken up now, after its turn. What came
	// between its turn and the stage that was open stays closed.
	TakenUp bool `json:",omitempty"`
}

func (e StageReopened) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	switch {
	case e.TakenUp:
		k.Past = slices.DeleteFunc(slices.Clone(k.Past), func(w state.Window) bool { return w.Stage == e.Stage })
	case e.Left != "":
		k.Past = k.Past[:len(k.Past)-1]
	}
	for n := len(k.Past); e.Round == 1 && n > 0 && k.Past[n-1].Stage == e.Stage; n = len(k.Past) {
		k.Past = k.Past[:n-1] // the first round is not behind itself
	}
	k.Stage = e.Stage
	k.Window = state.Window{Stage: e.Stage, Round: e.Round, Opened: at, Closes: e.Closes, Asked: slices.Clone(e.Asked), Phase: state.PhaseOpen}
	takeUp(k, e.Stage)
	foldedAs(e.Stage).clears(k, e.Round)
}

// LeadsChanged says who leads from now on, the first one first.
type LeadsChanged struct{ Leads []state.UserID }

func (e LeadsChanged) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Leads = e.Leads
	if foldedAs(k.Stage).asks == onlyLeads && k.Window.Phase == state.PhaseOpen {
		k.Window.Asked = state.Leading(k) // the closing words are for the new lead to write
	}
}
