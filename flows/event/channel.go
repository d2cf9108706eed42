package event

import (
	"time"

	"soundings/flows/state"
)

// ChannelUnreachable stops everything that needs the channel.
type ChannelUnreachable struct {
	Why   state.UnreachableReason
	Since int64 `json:",omitempty"`
}

func (e ChannelUnreachable) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	since := e.Since
	if k.Unreachable.N > 0 {
		since = min(since, k.Unreachable.Since) // what the time before left out may still be missing
	}
	k.Unreachable = state.Unreachable{Why: e.Why, N: k.Unreachable.N + 1, Since: since}
}

// ChannelReachable says that the channel is there again, and until when is waited
// now for what was open, where that is later than before.
type ChannelReachable struct {
	Until time.Time `json:",omitzero"`
}

func (e ChannelReachable) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Unreachable.Why = ""
	state.Own(k, &k.Underway.Checkins) // the end may be that of a check-in
	if w := state.WaitOf(k); w.End != nil && !e.Until.IsZero() {
		*w.End = e.Until
	}
}

// Abandoned ends a kickoff without a decision. Why is what the lead said who
// called it off; empty where nobody did.
type Abandoned struct {
	Answers *state.Answers `json:",omitempty"`
	Why     string         `json:",omitempty"`
}

func (e Abandoned) Apply(k *state.Kickoff, at time.Time, by state.UserID) {
	if e.Why != "" {
		k.CalledOff = state.CalledOff{Why: e.Why, By: by, At: at}
	}
	countAnswers(&k.Window, e.Answers)
	if k.Window.Phase == state.PhaseOpen {
		k.Window.Closed, k.Window.Why = at, state.ClosedAbandoned
	}
	shelveWindow(k)
	k.Stage = state.StageEnded
	k.Window = state.Window{Stage: state.StageEnded, Phase: state.PhaseClosed, Opened: at, Closed: at}
}
