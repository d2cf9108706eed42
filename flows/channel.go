package flows

import (
	"slices"
	"strconv"
	"time"

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

func (i ReportUnreachable) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if k.Stage == state.StageEnded || k.Unreachable.Why == i.Why {
		return nil, nil
	}
	lost := []Event{ChannelUnreachable{Why: i.Why, Since: i.Since}}
	if i.Why == state.ChannelDeleted {
		lost = append(lost, abandon(k)...)
	}
	return lost, nil
}

// ChannelUnreachable stops everything that needs the channel.
type ChannelUnreachable struct {
	Why   state.UnreachableReason
	Since int64 `json:",omitempty"`
}

func (e ChannelUnreachable) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	since := e.Since
	if k.Unreachable.N > 0 {
		since = min(since, k.Unreachable.Since) // what the time before left out may still be missing
	}
	k.Unreachable = state.Unreachable{Why: e.Why, N: k.Unreachable.N + 1, Since: since}
}

// ReportReachable reports that the channel is there again. GoOn is a lead's word
// that it is: where that is not so, the next message to it finds out.
type (
	ReportReachable struct{ FromShell }
	GoOn            struct{ ByLead }
)

func (ReportReachable) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	return when(k.Stage != state.StageEnded && k.Unreachable.Why != "", ChannelReachable{Until: laterEnd(k, now)})
}

func (GoOn) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	return ReportReachable{}.decide(k, now)
}

// laterEnd gives those who are waited for a working day from now; zero where
// they have that anyway.
func laterEnd(k *state.Kickoff, now time.Time) time.Time {
	w := waitOf(k)
	if w.end == nil {
		return time.Time{}
	}
	if fair := fairClose(k, now, workday, w.asked); fair.After(*w.end) {
		return fair
	}
	return time.Time{}
}

// ChannelReachable says that the channel is there again, and until when is waited
// now for what was open, where that is later than before.
type ChannelReachable struct {
	Until time.Time `json:",omitzero"`
}

func (e ChannelReachable) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Unreachable.Why = ""
	state.Own(k, &k.Underway.Checkins) // the end may be that of a check-in
	if w := waitOf(k); w.end != nil && !e.Until.IsZero() {
		*w.end = e.Until
	}
}

// Abandon is a lead's word that a kickoff whose channel is out of reach shall
// not go on.
type Abandon struct{ ByLead }

func (Abandon) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	return provided(refuseIf(k.Unreachable.Why == "", "",
		"The channel is there, so the kickoff can go on in it. To end it early, open the decision."), abandon(k)...)
}

// abandon ends a kickoff; what was not counted never will be.
func abandon(k *state.Kickoff) []Event {
	events := emptyAll(k)
	if w := k.Window; w.Phase == state.PhaseOpen && len(w.Done) > 0 && len(events) == 0 {
		events = emptied(string(w.Stage))
	}
	return append(events, Abandoned{Answers: answersOf(k)})
}

// Abandoned ends a kickoff without a decision.
type Abandoned struct {
	Answers *state.Answers `json:",omitempty"`
}

func (e Abandoned) apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	countAnswers(&k.Window, e.Answers)
	if k.Window.Phase == state.PhaseOpen {
		k.Window.Closed, k.Window.Why = at, state.ClosedAbandoned
	}
	shelveWindow(k)
	k.Stage = state.StageEnded
	k.Window = state.Window{Stage: state.StageEnded, Phase: state.PhaseClosed, Opened: at, Closed: at}
}

func (ChannelUnreachable) react(b *reaction) {
	b.tellLeads(ScreenUnreachable, strconv.Itoa(b.k.Unreachable.N))
}

func (ChannelReachable) react(b *reaction) {
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

func (Abandoned) react(b *reaction) {
	b.update(ScreenDesk, "")
	b.update(ScreenUnreachable, strconv.Itoa(b.k.Unreachable.N))
	if past := b.k.Past; b.k.Unreachable.Why == "" && len(past) > 0 && past[len(past)-1].Why == state.ClosedAbandoned {
		w := past[len(past)-1]
		b.show(ScreenStage, StageArg(w.Stage, w.Round))
	}
	b.add(Effect{Do: ReleaseChannel})
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
