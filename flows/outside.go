package flows

import (
	"time"

	"soundings/flows/state"
	"soundings/flows/workdays"
)

// A channel may be shared with another company. A kickoff is the inside of
// one: so whoever leads it is asked before anything of it is posted there,
// and before its summary is, where the channel was shared in between.

// AskOutside is the question whether to go on where another company reads.
const AskOutside = "outside"

func askOutside(reason string) error { return &Refusal{Ask: AskOutside, Reason: reason} }

// Held reports that another company reads the channel and no lead has agreed
// to that: the summary, its files and its canvas are not put there.
func Held(k *state.Kickoff) bool { return k.Seen.Outside && !k.Seen.Agreed }

// ChannelSeen notes who reads the channel, and whether it has a canvas. A
// consent lasts as long as the channel stays shared.
type ChannelSeen struct {
	Outside bool   `json:",omitempty"`
	Canvas  string `json:",omitempty"`
}

func (e ChannelSeen) isNew(k *state.Kickoff) bool {
	return k.Seen.At.IsZero() || k.Seen.Outside != e.Outside || k.Seen.Canvas != e.Canvas
}

func (e ChannelSeen) apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	k.Seen.At, k.Seen.Outside, k.Seen.Canvas = at, e.Outside, e.Canvas
	if !e.Outside {
		k.Seen.Agreed, k.Seen.By = false, ""
	}
}

// GoOnHere is a lead's word that another company may read the kickoff.
type GoOnHere struct{ ByLead }

func (i GoOnHere) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	return when(Held(k), OutsideAgreed{})
}

// OutsideAgreed notes that a lead goes on where another company reads.
type OutsideAgreed struct{}

func (OutsideAgreed) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	k.Seen.Agreed, k.Seen.By = true, by
}

// SummaryHeld gives the leads one more working day to say whether another
// company may read the summary, which nobody may post for them.
type SummaryHeld struct{ Closes time.Time }

func (e SummaryHeld) apply(k *state.Kickoff, _ time.Time, _ state.UserID) { k.Window.Closes = e.Closes }

// dueHeld is what falls due while the summary waits for a lead's consent.
func dueHeld(k *state.Kickoff, now time.Time) []Event {
	if now.Before(k.Window.Closes) {
		return dueReminders(k, waitOf(k), now)
	}
	return []Event{SummaryHeld{Closes: workdays.Had(k.LeadHours(), now, workday)}}
}

func (e ChannelSeen) react(b *reaction) {
	if Held(b.k) {
		b.tellLeads(ScreenOutside, "")
		return
	}
	b.update(ScreenOutside, "")
}

func (OutsideAgreed) react(b *reaction) {
	b.update(ScreenOutside, "")
	if b.k.Stage == state.StageUnderway {
		b.canvas(UpdateCanvas)
	}
}

func (SummaryHeld) react(b *reaction) { b.tellLeads(ScreenOutside, "") }

// canvas draws the summary's canvas, unless others would read it unasked.
func (b *reaction) canvas(do EffectKind) {
	if !Held(b.k) {
		b.add(Effect{Do: do})
	}
}
