package flows

import (
	"time"

	"soundings/flows/event"
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

// GoOnHere is a lead's word that another company may read the kickoff.
type GoOnHere struct{ ByLead }

func (i GoOnHere) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return when(Held(k), event.OutsideAgreed{})
}

// dueHeld is what falls due while the summary waits for a lead's consent.
func dueHeld(k *state.Kickoff, now time.Time) []event.Event {
	if now.Before(k.Window.Closes) {
		return dueReminders(k, state.WaitOf(k), now)
	}
	return []event.Event{event.SummaryHeld{Closes: workdays.Had(k.LeadHours(), now, workday)}}
}

// canvas draws the summary's canvas, unless others would read it unasked.
func (b *reaction) canvas(do EffectKind) {
	if !Held(b.k) {
		b.add(Effect{Do: do})
	}
}

// afterOutside says what should follow from another company reading the channel.
func afterOutside(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.ChannelSeen:
		if Held(b.k) {
			b.tellLeads(ScreenOutside, "")
			return
		}
		b.update(ScreenOutside, "")
	case event.OutsideAgreed:
		b.update(ScreenOutside, "")
		if b.k.Stage == state.StageUnderway {
			b.canvas(UpdateCanvas)
		}
	case event.SummaryHeld:
		b.tellLeads(ScreenOutside, "")
	}
}
