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
	Days  []int  // working days, 0 = Sunday; without any, Monday to Friday
	From  int    // first working minute of the day, from 0
	To    int    // last working minute, at most 1440; without an hour between them, 9 to 17
	Muted bool   // wants no reminders
	Gone  bool   // has left, or was let go
}

// workday is the working hours of one pace day.
const workday = 8 * time.Hour

// Hours gives the working hours of p. What makes no sense, since a profile
// may hold anything, counts as not given: a wrong hour beats a kickoff that
// stops.
func (p Person) Hours() engine.Hours {
	h := engine.WorkingHours(zoneOf(p.Zone))
	if fullHour(p.From, p.To) {
		h.From, h.To = p.From, p.To
	}
	var days [7]bool
	for _, d := range p.Days {
		if 0 <= d && d < len(days) {
			days[d] = true
		}
	}
	if days != [7]bool{} {
		h.Days = days
	}
	return h
}

// zoneOf finds a time zone by its IANA name; one that this machine does not
// know counts as UTC. "Local" is the machine's own and nobody's home.
func zoneOf(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		return time.UTC
	}
	return zone
}

// fullHour reports whether a working day has an hour at least. With minutes a
// day, a window of a few working hours would stand open for months.
func fullHour(from, to int) bool { return 0 <= from && from+60 <= to && to <= 24*60 }

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
	if leads := leading(k); len(leads) > 0 {
		p, _ := k.Person(leads[0])
		return p
	}
	if len(k.People) > 0 {
		return k.People[0]
	}
	return Person{}
}

// leading lists the leads who take part now.
func leading(k *Kickoff) []UserID {
	return slices.DeleteFunc(slices.Clone(k.Leads), func(u UserID) bool { return !k.Takes(u) })
}

// leadName is how people know the lead.
func leadName(k *Kickoff) string { return k.Name(k.Lead().ID) }

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
func fairClose(k *Kickoff, now time.Time, need time.Duration, who []UserID) time.Time {
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

// hadWorked is when somebody with hours h has had need of working time since
// from. Hours are worked out once by whoever asks: finding a time zone costs
// more than all the rest.
func hadWorked(h engine.Hours, from time.Time, need time.Duration) time.Time {
	at, err := engine.FairClose(from, need, []engine.Hours{h}, h)
	if err != nil {
		panic(fmt.Sprintf("flows: no working time in %v after %v: %v", h, from, err))
	}
	return at
}

// localDay is the date at t for somebody with hours h.
func localDay(h engine.Hours, t time.Time) LocalDay {
	return LocalDay(t.In(h.Zone).Format(time.DateOnly))
}
