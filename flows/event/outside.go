package event

import (
	"time"

	"soundings/flows/state"
)

// ChannelSeen notes who reads the channel, and whether it has a canvas. A
// consent lasts as long as the channel stays shared.
type ChannelSeen struct {
	Outside bool   `json:",omitempty"`
	Canvas  string `json:",omitempty"`
}

func (e ChannelSeen) IsNew(k *state.Kickoff) bool {
	return k.Seen.At.IsZero() || k.Seen.Outside != e.Outside || k.Seen.Canvas != e.Canvas
}

func (e ChannelSeen) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	k.Seen.At, k.Seen.Outside, k.Seen.Canvas = at, e.Outside, e.Canvas
	if !e.Outside {
		k.Seen.Agreed, k.Seen.By = false, ""
	}
}

// OutsideAgreed notes that a lead goes on where another company reads.
type OutsideAgreed struct{}

func (OutsideAgreed) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	k.Seen.Agreed, k.Seen.By = true, by
}

// SummaryHeld gives the leads one more working day to say whether another
// company may read the summary, which nobody may post for them.
type SummaryHeld struct{ Closes time.Time }

func (e SummaryHeld) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) { k.Window.Closes = e.Closes }
