package flows

import (
	"fmt"
	"time"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// workday is the working hours of one pace day.
const workday = workdays.Length

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
	if w := waitOf(&k); w.end != nil && w.owing != nil && !standsStill(&k) {
		state.CacheReminders(&k, w.opened, *w.end,
			func(p state.Person) time.Time { return reminderFor(&k, p, w) },
			func() time.Time { return firstReminder(&k, w) })
	}
	return k
}

// leadName is how people know the lead.
func leadName(k *state.Kickoff) string { return k.Name(k.Lead().ID) }

// fairClose is when everyone in who has had need of working time since now.
func fairClose(k *state.Kickoff, now time.Time, need time.Duration, who []state.UserID) time.Time {
	hours := make([]engine.Hours, 0, len(who))
	for _, u := range who {
		if p, ok := k.Person(u); ok && !p.Gone {
			hours = append(hours, k.HoursOf(p))
		}
	}
	if len(hours) == 0 {
		hours = append(hours, k.LeadHours())
	}
	at, err := engine.FairClose(now, need, hours, k.LeadHours())
	if err != nil { // Hours above are always valid, and need is positive
		panic(fmt.Sprintf("flows: no fair close after %v for %v: %v", now, need, err))
	}
	return at
}
