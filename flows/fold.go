package flows

import (
	"soundings/flows/event"
	"soundings/flows/state"
	"soundings/flows/workdays"
	"time"
)

// Apply folds one record into a copy of k. It refuses nothing: what was
// written is true. version is the record's place in the journal.
func Apply(k state.Kickoff, version int64, r event.Record) state.Kickoff {
	return Fold(k, version-1, []event.Record{r})
}

// Fold applies records that follow version after, in order, to a copy of k.
func Fold(k state.Kickoff, after int64, records []event.Record) state.Kickoff {
	return kept(event.Fold(k, after, records))
}

// WithZones is k with the time zones that its people name. A kickoff needs
// them before anything is decided or shown, and hands them on as it moves on.
func WithZones(k state.Kickoff, z workdays.Zones) state.Kickoff {
	state.SetZones(&k, z)
	return kept(k)
}

// kept is k once its changes are done: it is shared, and remembers when people
// are due reminders.
func kept(k state.Kickoff) state.Kickoff {
	k = state.Kept(k)
	if w := state.WaitOf(&k); w.End != nil && w.Owing != nil && !standsStill(&k) {
		state.CacheReminders(&k, w.Opened, *w.End,
			func(p state.Person) time.Time { return reminderFor(&k, p, w) },
			func() time.Time { return firstReminder(&k, w) })
	}
	return k
}
