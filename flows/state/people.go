package state

import (
	"slices"

	"soundings/engine"
	"soundings/flows/lists"
	"soundings/flows/workdays"
)

// A Ring says how close someone is to the work.
type Ring string

// The rings of the stakeholder map. The empty ring means not placed.
const (
	Core      Ring = "core"
	Consulted Ring = "consulted"
	Informed  Ring = "informed"
)

// Rings lists the rings, innermost first.
func Rings() []Ring { return []Ring{Core, Consulted, Informed} }

// Roles is who stands in which ring.
type Roles struct {
	Self    map[UserID]Ring
	Days    map[UserID]float64 // days a week that a core person can give
	Named   []NamedPerson
	Settled map[UserID]Ring // what the lead settled
	Done    bool
	DoneBy  UserID
}

// A NamedPerson was named as missing, or as expected in a ring. User is set
// when the name is somebody on the platform.
type NamedPerson struct {
	By   UserID
	Name string
	User UserID
	Ring Ring
}

// A JoinRequest is somebody who asked to take part.
type JoinRequest struct {
	Person Person
}

// Same reports whether n and m name one person.
func (n NamedPerson) Same(m NamedPerson) bool {
	if n.User != "" || m.User != "" {
		return n.User == m.User
	}
	return SameWords(n.Name, m.Name)
}

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

	// Sought says that the platform is still to be asked for the name and the
	// zone. Until then they work when the lead does, unless they say otherwise.
	Sought bool `json:",omitempty"`
}

// SetZones hands k the time zones that its people name. A kickoff needs them
// before anything is decided or shown, and hands them on as it moves on.
func SetZones(k *Kickoff, z workdays.Zones) { k.zones = z }

// Zones are the time zones that its people name.
func (k *Kickoff) Zones() workdays.Zones { return k.zones }

// HoursOf gives somebody's working hours.
func (k *Kickoff) HoursOf(p Person) engine.Hours {
	if p.Sought && p.Zone == "" {
		p.Zone = k.Lead().Zone
	}
	return workdays.Hours(k.zones, p.Zone, p.Days, p.From, p.To)
}

// LeadHours gives the working hours of the lead whose hours count.
func (k *Kickoff) LeadHours() engine.Hours { return k.HoursOf(k.Lead()) }

// Person finds a participant, past ones included.
func (k *Kickoff) Person(u UserID) (Person, bool) {
	if at, ok := k.cached.places[u]; ok && at < len(k.People) && k.People[at].ID == u {
		return k.People[at], true
	}
	return lists.Find(k.People, func(p Person) bool { return p.ID == u })
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
	if leads := Leading(k); len(leads) > 0 {
		p, _ := k.Person(leads[0])
		return p
	}
	if len(k.People) > 0 {
		return k.People[0]
	}
	return Person{}
}

// Leading lists the leads who take part now.
func Leading(k *Kickoff) []UserID {
	return slices.DeleteFunc(slices.Clone(k.Leads), func(u UserID) bool { return !k.Takes(u) })
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
	in := lists.Keep(k.Participants(), func(u UserID) bool { return k.RingOf(u) == r })
	if len(in) == 0 && r == Core {
		return slices.Clone(k.Leads)
	}
	return in
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
