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
