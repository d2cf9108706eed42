package flows

import (
	"slices"
	"strconv"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// This file holds what becomes of a kickoff whose channel is out of reach. It
// stands still: nothing falls due, since nobody could answer, and what was to
// be shown there waits. Once the channel is there again it goes on, and
// everybody who owes something has a working day at least.

// ReportUnreachable reports that the channel is out of reach.
type ReportUnreachable struct {
	FromShell
	Why   state.UnreachableReason
	Since int64 // the version before the first whose messages may be missing
}

func (i ReportUnreachable) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if k.Stage == state.StageEnded || k.Unreachable.Why == i.Why {
		return nil, nil
	}
	lost := []event.Event{event.ChannelUnreachable{Why: i.Why, Since: i.Since}}
	if i.Why == state.ChannelDeleted {
		lost = append(lost, abandon(k, "")...)
	}
	return lost, nil
}

// ReportReachable reports that the channel is there again. GoOn is a lead's word
// that it is: where that is not so, the next message to it finds out.
type (
	ReportReachable struct{ FromShell }
	GoOn            struct{ ByLead }
)

func (ReportReachable) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	return when(k.Stage != state.StageEnded && k.Unreachable.Why != "", event.ChannelReachable{Until: laterEnd(k, now)})
}

func (GoOn) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	return ReportReachable{}.decide(k, now)
}

// laterEnd gives those who are waited for a working day from now; zero where
// they have that anyway.
func laterEnd(k *state.Kickoff, now time.Time) time.Time {
	w := state.WaitOf(k)
	if w.End == nil {
		return time.Time{}
	}
	if fair := fairClose(k, now, workday, w.Asked); fair.After(*w.End) {
		return fair
	}
	return time.Time{}
}

// deserted is when a kickoff ends that nobody takes part in any more: five
// working days after the last one left, by their hours. Until then whoever
// asks to take part is in, and leads it.
func deserted(k *state.Kickoff) (ends time.Time, yes bool) {
	if len(k.People) == 0 || slices.ContainsFunc(k.People, func(p state.Person) bool { return !p.Gone }) {
		return time.Time{}, false
	}
	since := k.Deserted
	if since.IsZero() { // a snapshot of an earlier release does not say
		since = k.Window.Opened
	}
	return workdays.Had(k.LeadHours(), since, 5*workday), true
}

// afterChannel says what should follow from the channel coming and going.
func afterChannel(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.ChannelUnreachable:
		b.tellLeads(ScreenUnreachable, strconv.Itoa(b.k.Unreachable.N))
	case event.ChannelReachable:
		b.add(Effect{Do: Resume})
		b.update(ScreenUnreachable, strconv.Itoa(b.k.Unreachable.N))
		if b.k.Stage != state.StageUnderway {
			b.progress()
			if w := b.k.Window; w.Phase == state.PhaseSettling {
				b.update(ScreenSettle, string(w.Stage))
			}
			return
		}
		b.checkin()
		if b.k.Underway.Decision.Phase == state.PhaseOpen {
			b.refresh(ScreenDecision, b.decisionArg())
		}
	}
}
