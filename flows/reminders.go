package flows

import (
	"maps"
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// patience is how much of their own working time people get before a first
// reminder (common practice, no source).
const patience = 4 * time.Hour

// reminderFor is when p is next due a reminder while w lasts, or zero: after
// half a working day of theirs, and at most once on each of their days.
func reminderFor(k *state.Kickoff, p state.Person, w state.Wait) time.Time {
	if at, known := state.ReminderOf(k, p.ID, w.Opened, *w.End); known {
		return at
	}
	if p.Muted {
		return time.Time{}
	}
	h := k.HoursOf(p)
	at := workdays.Had(h, w.Opened, patience)
	if last := k.Reminded[p.ID]; last != "" && workdays.DayAt(h, at) <= last {
		at = workdays.StartAfter(h, last)
	}
	if !at.Before(*w.End) {
		return time.Time{}
	}
	return at
}

// nextReminder is when the first of those owing is due a reminder.
func nextReminder(k *state.Kickoff, w state.Wait) time.Time {
	if w.Owing == nil {
		return time.Time{}
	}
	if at, known := state.FirstReminder(k, w.Opened, *w.End); known {
		return at
	}
	return firstReminder(k, w)
}

// firstReminder looks at everybody.
func firstReminder(k *state.Kickoff, w state.Wait) time.Time {
	var first time.Time
	for _, u := range w.Owing(k) {
		p, _ := k.Person(u)
		first = earliest(first, reminderFor(k, p, w))
	}
	return first
}

// dueReminders reminds those whose time has come. A late wake may find some
// of them off work: they are left in peace until they are back.
func dueReminders(k *state.Kickoff, w state.Wait, now time.Time) []event.Event {
	if next := nextReminder(k, w); next.IsZero() || now.Before(next) {
		return nil
	}
	sent, putOff := map[state.UserID]state.LocalDay{}, map[state.UserID]state.LocalDay{}
	for _, u := range w.Owing(k) {
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
	var events []event.Event
	if len(sent) > 0 {
		events = append(events, event.RemindersSent{Days: sent})
	}
	if len(putOff) > 0 {
		events = append(events, event.RemindersPutOff{Days: putOff})
	}
	return events
}

// wordFor is when the owner of an action is told that it is due, or zero: on their
// last working day up to that date. Whoever was reminded of something else on that
// day has had their reminder.
func wordFor(k *state.Kickoff, a state.Action) time.Time {
	p, known := k.Person(a.Owner)
	if !known || !k.Takes(a.Owner) || p.Muted || a.Withdrawn || a.Done != "" || a.Due == "" {
		return time.Time{}
	}
	h := k.HoursOf(p)
	at := workdays.StartBy(h, a.Due)
	if at.Before(k.Timebox.Starts) || workdays.DayAt(h, at) <= k.Reminded[p.ID] {
		return time.Time{}
	}
	return at
}

// nextWord is when the first owner is told that an action is due; zero when none is.
func nextWord(k *state.Kickoff) time.Time {
	var first time.Time
	if k.Stage == state.StageUnderway {
		for _, a := range k.Actions {
			first = earliest(first, wordFor(k, a))
		}
	}
	return first
}

// dueWords tells owners that an action of theirs is due. Where the day is over by
// now, or they are off work, it is too late for that: what is late stands in the
// weekly message.
func dueWords(k *state.Kickoff, now time.Time) []event.Event {
	sent, missed := map[state.UserID]state.LocalDay{}, map[state.UserID]state.LocalDay{}
	for _, a := range k.Actions {
		at := wordFor(k, a)
		if at.IsZero() || now.Before(at) {
			continue
		}
		p, _ := k.Person(a.Owner)
		h := k.HoursOf(p)
		switch day := workdays.DayAt(h, at); {
		case day == workdays.DayAt(h, now) && engine.NextWorking(h, now).Equal(now):
			sent[a.Owner] = day
		default:
			missed[a.Owner] = max(day, missed[a.Owner])
		}
	}
	maps.DeleteFunc(missed, func(u state.UserID, _ state.LocalDay) bool { return lists.Has(sent, u) })
	var events []event.Event
	if len(sent) > 0 {
		events = append(events, event.RemindersSent{Days: sent})
	}
	if len(missed) > 0 {
		events = append(events, event.RemindersPutOff{Days: missed})
	}
	return events
}

// DueActions lists the actions of somebody that are due, or late, at now: those of
// which they were told on their last working day, and earlier ones.
func DueActions(k *state.Kickoff, u state.UserID, now time.Time) []state.Action {
	p, _ := k.Person(u)
	h := k.HoursOf(p)
	return lists.Keep(k.OpenActions(u), func(a state.Action) bool { return !now.Before(workdays.StartBy(h, a.Due)) })
}

// Mute stops the reminders of this kickoff for the actor, or starts them
// again.
type Mute struct {
	By
	Off bool // true: remind me again
}

func (i Mute) decide(*state.Kickoff, time.Time) ([]event.Event, error) {
	return []event.Event{event.ReminderMuted{Muted: !i.Off}}, nil
}

// SetHours changes the actor's working days and hours, and zone where given.
type SetHours struct {
	By
	Zone     string // empty: unchanged
	Days     []int  // 0 = Sunday
	From, To int    // minutes of the day
}

func (i SetHours) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if !workdays.FullHour(i.From, i.To) {
		return nil, refuseField("hours", "The working day must lie between 0:00 and 24:00 and end an hour or more after it begins.")
	}
	if len(i.Days) == 0 || slices.ContainsFunc(i.Days, func(d int) bool { return d < 0 || d > 6 }) {
		return nil, refuseField("days", "Choose at least one working day, from Sunday to Saturday.")
	}
	if _, known := k.Zones().Zone(i.Zone); i.Zone != "" && !known {
		return nil, refuseField("zone", "That time zone is not known here. Use a name such as Europe/Lisbon.")
	}
	return []event.Event{event.HoursChanged{Zone: i.Zone, Days: i.Days, From: i.From, To: i.To}}, nil
}

// afterReminders says what should follow from reminders.
func afterReminders(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.RemindersSent:
		for _, u := range b.k.Participants() {
			if day, ok := e.Days[u]; ok {
				b.tell(ScreenReminder, string(day), u)
			}
		}
	}
}
