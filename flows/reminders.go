package flows

import (
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// patience is how much of their own working time people get before a first
// reminder (common practice, no source).
const patience = 4 * time.Hour

// reminderFor is when p is next due a reminder while w lasts, or zero: after
// half a working day of theirs, and at most once on each of their days.
func reminderFor(k *state.Kickoff, p state.Person, w wait) time.Time {
	if at, known := state.ReminderOf(k, p.ID, w.opened, *w.end); known {
		return at
	}
	if p.Muted {
		return time.Time{}
	}
	h := k.HoursOf(p)
	at := workdays.Had(h, w.opened, patience)
	if last := k.Reminded[p.ID]; last != "" && workdays.DayAt(h, at) <= last {
		at = workdays.StartAfter(h, last)
	}
	if !at.Before(*w.end) {
		return time.Time{}
	}
	return at
}

// nextReminder is when the first of those owing is due a reminder.
func nextReminder(k *state.Kickoff, w wait) time.Time {
	if w.owing == nil {
		return time.Time{}
	}
	if at, known := state.FirstReminder(k, w.opened, *w.end); known {
		return at
	}
	return firstReminder(k, w)
}

// firstReminder looks at everybody.
func firstReminder(k *state.Kickoff, w wait) time.Time {
	var first time.Time
	for _, u := range w.owing(k) {
		p, _ := k.Person(u)
		first = earliest(first, reminderFor(k, p, w))
	}
	return first
}

// dueReminders reminds those whose time has come. A late wake may find some
// of them off work: they are left in peace until they are back.
func dueReminders(k *state.Kickoff, w wait, now time.Time) []Event {
	if next := nextReminder(k, w); next.IsZero() || now.Before(next) {
		return nil
	}
	sent, putOff := map[state.UserID]state.LocalDay{}, map[state.UserID]state.LocalDay{}
	for _, u := range w.owing(k) {
		p, _ := k.Person(u)
		at := reminderFor(k, p, w)
		if at.IsZero() || now.Before(at) {
			continue
		}
		h := k.HoursOf(p)
		if back := engine.NextWorking(h, now); back.Equal(now) {
			sent[u] = workdays.DayAt(h, now)
		} else {
			putOff[u] = workdays.PutOff(h, back, now)
		}
	}
	var events []Event
	if len(sent) > 0 {
		events = append(events, RemindersSent{Days: sent})
	}
	if len(putOff) > 0 {
		events = append(events, RemindersPutOff{Days: putOff})
	}
	return events
}

// RemindersPutOff notes, for people who were off work when their reminder
// came, the day after which they are next reminded. Were it not noted, the
// reminder would stay due all night.
type RemindersPutOff struct {
	Days map[state.UserID]state.LocalDay
}

func (e RemindersPutOff) apply(k *state.Kickoff, at time.Time, by state.UserID) {
	RemindersSent(e).apply(k, at, by)
}

// RemindersSent notes who was reminded, on which day of theirs.
type RemindersSent struct {
	Days map[state.UserID]state.LocalDay
}

func (e RemindersSent) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	for u, day := range e.Days {
		state.Put(k, &k.Reminded, u, day)
	}
}

func (e RemindersSent) react(b *reaction) {
	for _, u := range b.k.Participants() {
		if day, ok := e.Days[u]; ok {
			b.tell(ScreenReminder, string(day), u)
		}
	}
}

// Mute stops the reminders of this kickoff for the actor, or starts them
// again.
type Mute struct {
	By
	Off bool // true: remind me again
}

func (i Mute) decide(*state.Kickoff, time.Time) ([]Event, error) {
	return []Event{ReminderMuted{Muted: !i.Off}}, nil
}

// ReminderMuted says whether somebody wants reminders.
type ReminderMuted struct{ Muted bool }

func (e ReminderMuted) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	changePerson(k, by, func(p *state.Person) { p.Muted = e.Muted })
}

// SetHours changes the actor's working days and hours, and zone where given.
type SetHours struct {
	By
	Zone     string // empty: unchanged
	Days     []int  // 0 = Sunday
	From, To int    // minutes of the day
}

func (i SetHours) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if !workdays.FullHour(i.From, i.To) {
		return nil, refuseField("hours", "The working day must lie between 0:00 and 24:00 and end an hour or more after it begins.")
	}
	if len(i.Days) == 0 || slices.ContainsFunc(i.Days, func(d int) bool { return d < 0 || d > 6 }) {
		return nil, refuseField("days", "Choose at least one working day, from Sunday to Saturday.")
	}
	if _, known := k.Zones().Zone(i.Zone); i.Zone != "" && !known {
		return nil, refuseField("zone", "That time zone is not known here. Use a name such as Europe/Lisbon.")
	}
	return []Event{HoursChanged{Zone: i.Zone, Days: i.Days, From: i.From, To: i.To}}, nil
}

// HoursChanged says when somebody works.
type HoursChanged struct {
	Zone     string `json:",omitempty"`
	Days     []int
	From, To int
}

func (e HoursChanged) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	changePerson(k, by, func(p *state.Person) {
		p.Days, p.From, p.To = e.Days, e.From, e.To
		// A form shows the lead's zone where theirs is not known: to leave it there is
		// not to say that they live in it.
		if guessed := p.Sought && e.Zone == k.Lead().Zone; e.Zone != "" && !guessed {
			p.Zone = e.Zone
		}
	})
}

func changePerson(k *state.Kickoff, u state.UserID, change func(*state.Person)) {
	for i, p := range k.People {
		if p.ID == u {
			change(&state.Own(k, &k.People)[i])
		}
	}
}
