package flows

import (
	"errors"
	"fmt"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// An Intent is what somebody, or the clock, wants to happen. Each intent
// lives in the file of its stage and knows its own rules.
type Intent interface {
	actor() state.UserID
	needs() access
	decide(k *state.Kickoff, now time.Time) ([]event.Event, error)
}

// access says who may want something.
type access int

const (
	forParticipants access = iota
	forLeads
	forAnyone // people outside included
	forShell  // the clock, and what the shell reports back
)

// By is embedded in what a participant may do.
type By struct{ Who state.UserID }

func (b By) actor() state.UserID { return b.Who }
func (By) needs() access         { return forParticipants }

// ByLead is embedded in what only a lead may do.
type ByLead struct{ Who state.UserID }

func (b ByLead) actor() state.UserID { return b.Who }
func (ByLead) needs() access         { return forLeads }

// FromOutside is embedded in the few things that anyone may do.
type FromOutside struct{ Who state.UserID }

func (b FromOutside) actor() state.UserID { return b.Who }
func (FromOutside) needs() access         { return forAnyone }

// FromShell is embedded in what the clock or the shell reports.
type FromShell struct{}

func (FromShell) actor() state.UserID { return "" }
func (FromShell) needs() access       { return forShell }

// A Tick says only that time has passed; the state decides what is due.
type Tick struct{ FromShell }

func (Tick) decide(*state.Kickoff, time.Time) ([]event.Event, error) { return nil, nil }

// ErrDue says that something fell due before this intent: the caller decides
// on a Tick first, appends what follows from it, and asks again. So an answer
// that arrives after its window should have closed finds it closed, and what
// the clock brought is never written down under somebody's name.
var ErrDue = errors.New("something is due first")

// Decide turns an intent into the events that follow from it at now, into a
// *Refusal, or into ErrDue. The events include what the intent completes: the
// last answer closes its window and opens the next stage, in one decision.
// No events and no error mean that there is nothing to be done.
func Decide(k state.Kickoff, in Intent, now time.Time) ([]event.Event, error) {
	d, err := decide(k, in, event.PlainTime(now))
	return d.events, err
}

func decide(k state.Kickoff, in Intent, now time.Time) (decision, error) {
	if err := mayWant(&k, in); err != nil {
		return decision{}, err
	}
	if in.needs() == forShell && k.Started.IsZero() {
		return decision{}, nil // a report about nothing
	}
	d := decision{k: state.Fork(k), by: Author(in), now: now}
	if _, tick := in.(Tick); !tick && len(dueAt(&d.k, now)) > 0 {
		return decision{}, ErrDue
	}
	scratch := state.Fork(k) // decide may try its events on it
	events, err := in.decide(&scratch, now)
	if err != nil {
		return decision{}, err
	}
	d.take(events)
	d.advance()
	return d, nil
}

// mayWant holds the rules on who may want anything at all.
func mayWant(k *state.Kickoff, in Intent) error {
	who := in.actor()
	switch {
	case in.needs() == forShell || in.needs() == forAnyone:
		return nil
	case k.Started.IsZero():
		return refuse("There is no kickoff here yet. Start one with /soundings start.")
	case !k.Takes(who):
		return refuse("You are not part of this kickoff, so nothing was changed. Ask %s to add you.", leadName(k))
	case in.needs() == forLeads && !k.IsLead(who):
		return refuse("Only the lead can do that, so nothing was changed. The lead is %s.", leadName(k))
	case k.Stage == state.StageEnded:
		return Ended(k, "nothing was changed")
	}
	return nil
}

// A decision collects events and the state that they lead to.
type decision struct {
	k      state.Kickoff
	by     state.UserID
	now    time.Time
	events []event.Event
}

func (d *decision) take(events []event.Event) {
	for _, e := range events {
		e.Apply(&d.k, d.now, d.by)
	}
	d.events = append(d.events, events...)
}

// steps bounds how much may fall due at once: a kickoff that slept for years
// closes a few windows at each wake, and the next wake goes on.
const steps = 64

// advance adds what is due at this moment until nothing is.
func (d *decision) advance() {
	for range steps {
		events := dueAt(&d.k, d.now)
		if len(events) == 0 {
			return
		}
		d.take(events)
	}
}

// dueAt is what has fallen due, one step of it.
func dueAt(k *state.Kickoff, now time.Time) []event.Event {
	ends, deserted := deserted(k)
	switch {
	case standsStill(k):
		return nil
	case deserted && now.Before(ends):
		return nil
	case deserted:
		return abandon(k, "")
	case k.Stage == state.StageUnderway:
		return dueUnderway(k, now)
	case k.Window.Phase == state.PhaseSettling:
		return dueSettling(k, now)
	case k.Window.Phase == state.PhaseOpen:
		return dueWindow(k, now)
	}
	panic(fmt.Sprintf("flows: stage %s in phase %q", k.Stage, k.Window.Phase))
}

// standsStill reports that no time runs out: there is no kickoff yet or any
// more, or nobody could answer.
func standsStill(k *state.Kickoff) bool {
	return k.Started.IsZero() || k.Stage == state.StageEnded || k.Unreachable.Why != ""
}

// NextWake is when the kickoff next needs to look at the clock; zero when
// never.
func NextWake(k *state.Kickoff) time.Time {
	ends, deserted := deserted(k)
	switch {
	case standsStill(k):
		return time.Time{}
	case deserted:
		return ends
	}
	w := state.WaitOf(k)
	if w.End == nil {
		return earliest(nextCheckin(k), k.Timebox.Ends, nextWord(k))
	}
	return earliest(*w.End, stillChoosing(k), nextReminder(k, w), nextWord(k))
}

// earliest is the first of the times that are set.
func earliest(times ...time.Time) time.Time {
	var first time.Time
	for _, t := range times {
		if !t.IsZero() && (first.IsZero() || t.Before(first)) {
			first = t
		}
	}
	return first
}
