package flows

import (
	"slices"
	"strconv"
	"time"
)

// This file holds what becomes of a kickoff whose channel is out of reach. It
// stands still: nothing falls due, since nobody could answer, and what was to
// be shown there waits. Once the channel is there again it goes on, and
// everybody who owes something has a working day at least.

// Shut says why the channel of a kickoff is out of reach.
type Shut struct {
	Why   ShutReason // empty: it is not
	N     int        // how often that was so, this time included; numbers the leads' notes
	Since int64      // what was to be shown after this version may not have been
}

// A ShutReason says what happened to a channel.
type ShutReason string

// The reasons.
const (
	ShutArchived ShutReason = "archived"
	ShutRemoved  ShutReason = "removed" // the bot is not in it any more
	ShutDeleted  ShutReason = "deleted" // for good: the kickoff ends
)

// ShutChannel reports that the channel is out of reach.
type ShutChannel struct {
	FromShell
	Why   ShutReason
	Since int64 // the version before the first whose messages may be missing
}

func (i ShutChannel) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if k.Stage == StageEnded || k.Shut.Why == i.Why {
		return nil, nil
	}
	shut := []Event{ChannelShut{Why: i.Why, Since: i.Since}}
	if i.Why == ShutDeleted {
		shut = append(shut, Abandoned{})
	}
	return shut, nil
}

// ChannelShut stops everything that needs the channel.
type ChannelShut struct {
	Why   ShutReason
	Since int64 `json:",omitempty"`
}

func (ChannelShut) kind() string { return "channel-shut" }
func (e ChannelShut) apply(k *Kickoff, _ time.Time, _ UserID) {
	since := e.Since
	if k.Shut.N > 0 {
		since = min(since, k.Shut.Since) // what the time before left out may still be missing
	}
	k.Shut = Shut{Why: e.Why, N: k.Shut.N + 1, Since: since}
}

// ReopenChannel reports that the channel is there again. GoOn is a lead's word
// that it is: where that is not so, the next message to it finds out.
type (
	ReopenChannel struct{ FromShell }
	GoOn          struct{ ByLead }
)

func (ReopenChannel) decide(k *Kickoff, now time.Time) ([]Event, error) {
	if k.Stage == StageEnded || k.Shut.Why == "" {
		return nil, nil
	}
	return []Event{ChannelOpened{Until: k.laterEnd(now)}}, nil
}

func (GoOn) decide(k *Kickoff, now time.Time) ([]Event, error) {
	return ReopenChannel{}.decide(k, now)
}

// waiting is the end of whatever the kickoff waits for, and who is waited for;
// nil when it waits for nobody.
func (k *Kickoff) waiting() (end *time.Time, who []UserID) {
	lead := []UserID{k.Lead().ID}
	if k.Stage != StageUnderway {
		if k.Window.Phase == PhaseSettling {
			return &k.Window.Until, lead
		}
		return &k.Window.Closes, k.Window.Asked
	}
	d := &k.Underway.Decision
	switch c := k.checkin(); {
	case c != nil:
		return &c.Closes, k.InRing(Core)
	case d.Phase == PhaseOpen:
		return &d.Closes, k.Participants()
	case d.Phase == PhaseSettling:
		return &d.Until, lead
	}
	return nil, nil
}

// laterEnd gives those who are waited for a working day from now; zero where
// they have that anyway.
func (k *Kickoff) laterEnd(now time.Time) time.Time {
	end, who := k.waiting()
	if end == nil {
		return time.Time{}
	}
	if fair := k.fairClose(now, workday, who); fair.After(*end) {
		return fair
	}
	return time.Time{}
}

// ChannelOpened says that the channel is there again, and until when is waited
// now for what was open, where that is later than before.
type ChannelOpened struct {
	Until time.Time `json:",omitzero"`
}

func (ChannelOpened) kind() string { return "channel-opened" }
func (e ChannelOpened) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Shut.Why = ""
	if end, _ := k.waiting(); end != nil && !e.Until.IsZero() {
		*end = e.Until
	}
}

// Abandon is a lead's word that a kickoff whose channel is out of reach shall
// not go on.
type Abandon struct{ ByLead }

func (Abandon) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if k.Shut.Why == "" {
		return nil, refuse("The channel is there, so the kickoff can go on in it. To end it early, open the decision.")
	}
	return []Event{Abandoned{}}, nil
}

// Abandoned ends a kickoff without a decision.
type Abandoned struct{}

func (Abandoned) kind() string { return "abandoned" }
func (Abandoned) apply(k *Kickoff, at time.Time, _ UserID) {
	if k.Window.Phase == PhaseOpen {
		k.Window.Closed, k.Window.Why = at, ClosedAbandoned
	}
	k.shelve()
	k.Stage = StageEnded
	k.Window = Window{Stage: StageEnded, Phase: PhaseClosed, Opened: at, Closed: at}
}

func (ChannelShut) react(b *reaction) { b.tellLeads(ScreenShut, strconv.Itoa(b.k.Shut.N)) }

func (ChannelOpened) react(b *reaction) {
	b.add(Effect{Do: Resume})
	b.update(ScreenShut, strconv.Itoa(b.k.Shut.N))
	if b.k.Stage != StageUnderway {
		b.progress()
		if w := b.k.Window; w.Phase == PhaseSettling {
			b.update(ScreenSettle, string(w.Stage))
		}
		return
	}
	b.checkin()
	if b.k.Underway.Decision.Phase == PhaseOpen {
		b.refresh(ScreenDecision, b.decisionArg())
	}
}

func (Abandoned) react(b *reaction) {
	b.update(ScreenDesk, "")
	b.update(ScreenShut, strconv.Itoa(b.k.Shut.N))
	if past := b.k.Past; b.k.Shut.Why == "" && len(past) > 0 && past[len(past)-1].Why == ClosedAbandoned {
		w := past[len(past)-1]
		b.show(ScreenStage, StageArg(w.Stage, w.Round))
	}
	b.add(Effect{Do: Free})
}

// deserted is when a kickoff ends that nobody takes part in any more: five
// working days after the last one left, by their hours. Until then whoever
// asks to take part is in, and leads it.
func (k *Kickoff) deserted() (ends time.Time, yes bool) {
	if len(k.People) == 0 || slices.ContainsFunc(k.People, func(p Person) bool { return !p.Gone }) {
		return time.Time{}, false
	}
	since := k.Deserted
	if since.IsZero() { // a snapshot of an earlier release does not say
		since = k.Window.Opened
	}
	return hadWorked(k.Lead().Hours(), since, 5*workday), true
}
