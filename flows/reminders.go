package flows

import (
	"time"

	"soundings/engine"
)

// patience is how much of their own working time people get before a first
// reminder (common practice, no source).
const patience = 4 * time.Hour

// reminderFor is when p is next due a reminder in a window, or zero: after
// half a working day of theirs, and at most once on each of their days.
func (k *Kickoff) reminderFor(p Person, opened, closes time.Time) time.Time {
	if p.Muted {
		return time.Time{}
	}
	at := hadWorked(p, opened, patience)
	if last := k.Reminded[p.ID]; last != "" && localDay(p, at) <= last {
		at = startOfNextDay(p, last)
	}
	if !at.Before(closes) {
		return time.Time{}
	}
	return at
}

// startOfNextDay is an hour into p's first working day after day.
func startOfNextDay(p Person, day LocalDay) time.Time {
	h := p.Hours()
	d, err := time.ParseInLocation(time.DateOnly, string(day), h.Zone)
	if err != nil {
		panic("flows: a reminder was noted on the day " + string(day))
	}
	noon := time.Date(d.Year(), d.Month(), d.Day()+1, 0, 0, 0, 0, h.Zone)
	start := engine.NextWorking(h, noon)
	return hadWorked(p, start, time.Hour)
}

// nextReminder is when the first of those owing is due a reminder.
func (k *Kickoff) nextReminder(owing []UserID, opened, closes time.Time) time.Time {
	var next time.Time
	for _, u := range owing {
		p, _ := k.Person(u)
		next = earliest(next, k.reminderFor(p, opened, closes))
	}
	return next
}

// dueReminders reminds those whose time has come.
func (k *Kickoff) dueReminders(owing []UserID, opened, closes, now time.Time) []Event {
	days := map[UserID]LocalDay{}
	for _, u := range owing {
		p, _ := k.Person(u)
		at := k.reminderFor(p, opened, closes)
		// A late wake may find them off work: then they are left in peace.
		if !at.IsZero() && !now.Before(at) && engine.NextWorking(p.Hours(), now).Equal(now) {
			days[u] = localDay(p, now)
		}
	}
	if len(days) == 0 {
		return nil
	}
	return []Event{RemindersSent{Days: days}}
}

// RemindersSent notes who was reminded, on which day of theirs.
type RemindersSent struct{ Days map[UserID]LocalDay }

func (RemindersSent) kind() string { return "reminders-sent" }
func (e RemindersSent) apply(k *Kickoff, _ time.Time, _ UserID) {
	for u, day := range e.Days {
		put(&k.Reminded, u, day)
	}
}

// Mute stops the reminders of this kickoff for the actor, or starts them
// again.
type Mute struct {
	By
	Off bool // true: remind me again
}

func (i Mute) decide(*Kickoff, time.Time) ([]Event, error) {
	return []Event{ReminderMuted{Muted: !i.Off}}, nil
}

// ReminderMuted says whether somebody wants reminders.
type ReminderMuted struct{ Muted bool }

func (ReminderMuted) kind() string { return "reminder-muted" }
func (e ReminderMuted) apply(k *Kickoff, _ time.Time, by UserID) {
	k.changePerson(by, func(p *Person) { p.Muted = e.Muted })
}

// SetHours changes the actor's working days and hours, and zone where given.
type SetHours struct {
	By
	Zone     string // empty: unchanged
	Days     []int  // 0 = Sunday
	From, To int    // minutes of the day
}

func (i SetHours) decide(*Kickoff, time.Time) ([]Event, error) {
	if i.From < 0 || i.To > 24*60 || i.From >= i.To {
		return nil, refuseField("hours", "The working day must begin before it ends, between 0:00 and 24:00.")
	}
	if len(i.Days) == 0 {
		return nil, refuseField("days", "Choose at least one working day.")
	}
	if _, err := time.LoadLocation(i.Zone); err != nil {
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

func (HoursChanged) kind() string { return "hours-changed" }
func (e HoursChanged) apply(k *Kickoff, _ time.Time, by UserID) {
	k.changePerson(by, func(p *Person) {
		p.Days, p.From, p.To = e.Days, e.From, e.To
		if e.Zone != "" {
			p.Zone = e.Zone
		}
	})
}

func (k *Kickoff) changePerson(u UserID, change func(*Person)) {
	for i := range k.People {
		if k.People[i].ID == u {
			change(&k.People[i])
		}
	}
}
