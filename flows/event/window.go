package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// StageOpened begins a window.
type StageOpened struct {
	Stage  state.Stage
	Round  int `json:",omitempty"`
	Closes time.Time
	Asked  []state.UserID
}

func (e StageOpened) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	shelveWindow(k)
	k.Stage = e.Stage
	takeUp(k, e.Stage)
	asked := slices.Clone(e.Asked) // the window's list changes as people come and go, the event's never
	k.Window = state.Window{Stage: e.Stage, Round: e.Round, Opened: at, Closes: e.Closes, Asked: asked, Phase: state.PhaseOpen}
}

// shelveWindow puts the last window away: it waits for nothing any more. That of the
// tidying is not kept: nobody answered in it, and who goes back a step means the list.
func shelveWindow(k *state.Kickoff) {
	if k.Window.Stage != "" && k.Window.Stage != state.StageTidying {
		k.Window.Phase = state.PhaseClosed
		state.Add(k, &k.Past, k.Window)
	}
}

// FinishedStage says that somebody has given all they want to give in the
// openStage window. They may still change it until it closes.
type FinishedStage struct {
	Stage state.Stage
	Until time.Time `json:",omitzero"` // until when they may still choose something else; zero: that was all
}

func (e FinishedStage) Apply(k *state.Kickoff, at time.Time, by state.UserID) {
	w := &k.Window
	if w.Stage != e.Stage || w.Phase != state.PhaseOpen {
		return
	}
	state.Put(k, &w.Done, by, at)
	if e.Until.IsZero() {
		state.Drop(k, &w.Choosing, by)
	} else {
		state.Put(k, &w.Choosing, by, e.Until)
	}
}

// QuorumMissed gives the window one more working day, and asks the lead
// whether to use it.
type QuorumMissed struct {
	Stage  state.Stage
	Closes time.Time
}

func (e QuorumMissed) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Window.Extended = true
	k.Window.Closes = e.Closes
}

// WindowClosed ends the taking of answers. Until is set when the lead has
// something to settle.
type WindowClosed struct {
	Stage state.Stage
	Why   state.CloseReason
	Thin  bool      `json:",omitempty"`
	Until time.Time `json:",omitzero"`

	Answers *state.Answers `json:",omitempty"`
}

// countAnswers leaves of who answered in the window how many they are.
func countAnswers(w *state.Window, a *state.Answers) {
	if a != nil {
		w.Answers, w.Done, w.Choosing = a, nil, nil
	}
}

func (e WindowClosed) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	w := &k.Window
	countAnswers(w, e.Answers)
	w.Closed, w.Why, w.Thin, w.Until, w.Phase = at, e.Why, e.Thin, e.Until, state.PhaseClosed
	if !e.Until.IsZero() {
		w.Phase = state.PhaseSettling
	}
}
