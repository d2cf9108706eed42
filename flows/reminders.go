package flows

import (
	"slices"
	"time"

	"soundings/engine"
)

// patience is how much of their own working time people get before a first
// reminder (common practice, no source).
const patience = 4 * time.Hour

// reminderFor is when p is next due a reminder in a window, or zero: after
// half a working day of theirs, and at most once on each of their days.
func reminderFor(k *Kickoff, p Person, h engine.Hours, opened, closes time.Time) time.Time {
	if p.Muted {
		return time.Time{}
	}
	at := hadWorked(h, opened, patience)
	if last := k.Reminded[p.ID]; last != "" && localDay(h, at) <= last {
		at = startOfNextDay(h, last)
	}
	if !at.Before(closes) {
		return time.Time{}
	}
	return at
}

// startOfNextDay is an hour into somebody's first working day after day.
func startOfNextDay(h engine.Hours, day LocalDay) time.Time {
	d := day.date()
	start := engine.NextWorking(h, time.Date(d.Year(), d.Month(), d.Day()+1, 0, 0, 0, 0, h.Zone))
	for localDay(h, start) <= day { // where clocks change at midnight, it may be the evening before
		start = engine.NextWorking(h, start.Add(time.Hour))
	}
	return hadWorked(h, start, time.Hour)
}

// date is the day at midnight UTC, to reckon with.
func (d LocalDay) date() time.Time {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		panic("flows: the journal speaks of the day " + string(d))
	}
	return t
}

// before is the day before d.
func (d LocalDay) before() LocalDay {
	return LocalDay(d.date().AddDate(0, 0, -1).Format(time.DateOnly))
}

// nextReminder is when the first of those owing is due a reminder.
func nextReminder(k *Kickoff, owing []UserID, opened, closes time.Time) time.Time {
	var next time.Time
	for _, u := range owing {
		p, _ := k.Person(u)
		next = earliest(next, reminderFor(k, p, p.Hours(), opened, closes))
	}
	return next
}

// dueReminders reminds those whose time has come. A late wake may find some
// of them off work: they are left in peace until they are back.
func dueReminders(k *Kickoff, owing []UserID, opened, closes, now time.Time) []Event {
	sent, putOff := map[UserID]LocalDay{}, map[UserID]LocalDay{}
	for _, u := range owing {
		p, _ := k.Person(u)
		h := p.Hours()
		at := reminderFor(k, p, h, opened, closes)
		if at.IsZero() || now.Before(at) {
			continue
		}
		if back := engine.NextWorking(h, now); back.Equal(now) {
			sent[u] = localDay(h, now)
		} else {
			putOff[u] = putOffTo(h, localDay(h, back), now)
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

// putOffTo is the day to note for somebody who is back on the day back, so that
// their next reminder comes then, or at least later than now.
func putOffTo(h engine.Hours, back LocalDay, now time.Time) LocalDay {
	if before := back.before(); startOfNextDay(h, before).After(now) {
		return before
	}
	return back
}

// RemindersPutOff notes, for people who were off work when their reminder
// came, the day after which they are next reminded. Were it not noted, the
// reminder would stay due all night.
type RemindersPutOff struct{ Days map[UserID]LocalDay }

func (RemindersPutOff) kind() string { return "reminders-put-off" }
func (e RemindersPutOff) apply(k *Kickoff, _ time.Time, _ UserID) {
	for u, day := range e.Days {
		put(&k.Reminded, u, day)
	}
}

// RemindersSent notes who was reminded, on which day of theirs.
type RemindersSent struct{ Days map[UserID]LocalDay }

func (RemindersSent) kind() string { return "reminders-sent" }
func (e RemindersSent) apply(k *Kickoff, _ time.Time, _ UserID) {
	for u, day := range e.Days {
		put(&k.Reminded, u, day)
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

func (i Mute) decide(*Kickoff, time.Time) ([]Event, error) {
	return []Event{ReminderMuted{Muted: !i.Off}}, nil
}

// ReminderMuted says whether somebody wants reminders.
type ReminderMuted struct{ Muted bool }

func (ReminderMuted) kind() string { return "reminder-muted" }
func (e ReminderMuted) apply(k *Kickoff, _ time.Time, by UserID) {
	changePerson(k, by, func(p *Person) { p.Muted = e.Muted })
}

// SetHours changes the actor's working days and hours, and zone where given.
type SetHours struct {
	By
	Zone     string // empty: unchanged
	Days     []int  // 0 = Sunday
	From, To int    // minutes of the day
}

func (i SetHours) decide(*Kickoff, time.Time) ([]Event, error) {
	if !fullHour(i.From, i.To) {
		return nil, refuseField("hours", "The working day must lie between 0:00 and 24:00 and end an hour or more after it begins.")
	}
	if len(i.Days) == 0 || slices.ContainsFunc(i.Days, func(d int) bool { return d < 0 || d > 6 }) {
		return nil, refuseField("days", "Choose at least one working day, from Sunday to Saturday.")
	}
	if _, err := time.LoadLocation(i.Zone); err != nil || i.Zone == "Local" {
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
	changePerson(k, by, func(p *Person) {
		p.Days, p.From, p.To = e.Days, e.From, e.To
		if e.Zone != "" {
			p.Zone = e.Zone
		}
	})
}

func changePerson(k *Kickoff, u UserID, change func(*Person)) {
	for i := range k.People {
		if k.People[i].ID == u {
			change(&k.People[i])
		}
	}
}
