package flows

import (
	"fmt"
	"slices"
	"time"

	"soundings/engine"
)

// A Person takes part in a kickoff.
type Person struct {
	ID    UserID
	Name  string
	Zone  string // IANA time zone
	Days  []int  // working days, 0 = Sunday; empty means Monday to Friday
	From  int    // first working minute of the day; From = To = 0 means 9 to 17
	To    int    // last working minute of the day
	Muted bool   // wants no reminders
	Gone  bool   // has left, or was let go
}

// Default working hours, for those who did not say otherwise.
const (
	defaultFrom = 9 * 60
	defaultTo   = 17 * 60
	workday     = 8 * time.Hour // the working hours of one pace day
)

// Hours gives the working hours of p. A zone that this machine does not know
// counts as UTC: a wrong hour beats a kickoff that stops.
func (p Person) Hours() engine.Hours {
	zone, err := time.LoadLocation(p.Zone)
	if err != nil {
		zone = time.UTC
	}
	h := engine.Hours{Zone: zone, From: defaultFrom, To: defaultTo}
	if p.To > p.From {
		h.From, h.To = p.From, p.To
	}
	days := p.Days
	if len(days) == 0 {
		days = []int{1, 2, 3, 4, 5}
	}
	for _, d := range days {
		h.Days[d%7] = true
	}
	return h
}

// Person finds a participant, past ones included.
func (k *Kickoff) Person(u UserID) (Person, bool) {
	for _, p := range k.People {
		if p.ID == u {
			return p, true
		}
	}
	return Person{}, false
}

// Name gives the name under which people know u.
func (k *Kickoff) Name(u UserID) string {
	if p, ok := k.Person(u); ok && p.Name != "" {
		return p.Name
	}
	return string(u)
}

// Takes reports whether u takes part now.
func (k *Kickoff) Takes(u UserID) bool {
	p, ok := k.Person(u)
	return ok && !p.Gone
}

// IsLead reports whether u leads this kickoff.
func (k *Kickoff) IsLead(u UserID) bool { return slices.Contains(k.Leads, u) }

// Lead is the lead whose hours count: the first of those who still take part.
func (k *Kickoff) Lead() Person {
	for _, u := range k.Leads {
		if p, ok := k.Person(u); ok && !p.Gone {
			return p
		}
	}
	if len(k.People) > 0 {
		return k.People[0]
	}
	return Person{}
}

// Participants lists those who take part now.
func (k *Kickoff) Participants() []UserID {
	var out []UserID
	for _, p := range k.People {
		if !p.Gone {
			out = append(out, p.ID)
		}
	}
	return out
}

// RingOf tells where u stands: as the lead settled it, else as they placed
// themselves, else nowhere.
func (k *Kickoff) RingOf(u UserID) Ring {
	if r, ok := k.Roles.Settled[u]; ok {
		return r
	}
	return k.Roles.Self[u]
}

// InRing lists the participants in ring r. Where nobody is core, the leads
// are: somebody has to do the work.
func (k *Kickoff) InRing(r Ring) []UserID {
	var out []UserID
	for _, u := range k.Participants() {
		if k.RingOf(u) == r {
			out = append(out, u)
		}
	}
	if len(out) == 0 && r == Core {
		return slices.Clone(k.Leads)
	}
	return out
}

// DaysOf is how many days a week u can give.
func (k *Kickoff) DaysOf(u UserID) float64 {
	if d, ok := k.Roles.Days[u]; ok {
		return d
	}
	return DefaultDays
}

// DefaultDays is what a core person gives when they did not say: two days a
// week (common practice, no source).
const DefaultDays = 2.0

// fairClose is when everyone in who has had need of working time since now.
func (k *Kickoff) fairClose(now time.Time, need time.Duration, who []UserID) time.Time {
	hours := make([]engine.Hours, 0, len(who))
	for _, u := range who {
		if p, ok := k.Person(u); ok && !p.Gone {
			hours = append(hours, p.Hours())
		}
	}
	if len(hours) == 0 {
		hours = append(hours, k.Lead().Hours())
	}
	at, err := engine.FairClose(now, need, hours, k.Lead().Hours())
	if err != nil { // Hours above are always valid, and need is positive
		panic(fmt.Sprintf("flows: no fair close after %v for %v: %v", now, need, err))
	}
	return at
}

// hadWorked is when one person has had need of working time since from.
func hadWorked(p Person, from time.Time, need time.Duration) time.Time {
	at, err := engine.FairClose(from, need, []engine.Hours{p.Hours()}, p.Hours())
	if err != nil {
		panic(fmt.Sprintf("flows: no working time of %s after %v: %v", p.ID, from, err))
	}
	return at
}

// localDay is the date at t where p is.
func localDay(p Person, t time.Time) LocalDay {
	return LocalDay(t.In(p.Hours().Zone).Format(time.DateOnly))
}
