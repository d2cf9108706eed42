package flows

import (
	"cmp"
	"maps"
	"slices"
	"time"
)

// PlaceSelf says in which ring the actor sees themselves, and for the core
// how many days a week they can give.
type PlaceSelf struct {
	By
	Ring Ring
	Days float64 // counts only in the core
	Said bool    // they said how many, if only none; else 0 means DefaultDays
}

func (i PlaceSelf) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	check := cmp.Or(
		canAnswer(k, StageRoles),
		checkRing(i.Ring),
		refuseIf(!within(i.Days, 5), "days", "Days a week are between 0 and 5."),
	)
	e := PlacedSelf{Ring: i.Ring}
	if i.Ring == Core {
		e.Days = i.Days
		if e.Days == 0 && !i.Said {
			e.Days = DefaultDays
		}
	}
	return provided(check, append([]Event{e}, finish(k, i.Who)...)...)
}

func checkRing(r Ring) error {
	return refuseIf(!slices.Contains(Rings(), r), "ring", "Choose core team, consulted or informed.")
}

// PlacedSelf is somebody's own choice of ring.
type PlacedSelf struct {
	Ring Ring
	Days float64 `json:",omitempty"`
}

func (e PlacedSelf) apply(k *Kickoff, _ time.Time, by UserID) {
	put(k, &k.Roles.Self, by, e.Ring)
	drop(k, &k.Roles.Days, by)
	if e.Ring == Core {
		put(k, &k.Roles.Days, by, e.Days)
	}
}

// NamePerson says who is missing, or in which ring somebody is expected.
type NamePerson struct {
	By
	Name string // as written
	User UserID // when it is somebody on the platform
	Ring Ring
}

func (i NamePerson) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	if err := cmp.Or(
		canAnswer(k, StageRoles),
		checkText("name", "name", i.Name, MaxTitle, i.User == ""),
		checkRing(i.Ring),
	); err != nil {
		return nil, err
	}
	said := slices.Contains(k.Roles.Named, NamedPerson{By: i.Who, Name: i.Name, User: i.User, Ring: i.Ring})
	return when(!said, PersonNamed{Name: i.Name, User: i.User, Ring: i.Ring})
}

// Same reports whether n and m name one person.
func (n NamedPerson) Same(m NamedPerson) bool {
	if n.User != "" || m.User != "" {
		return n.User == m.User
	}
	return sameWords(n.Name, m.Name)
}

// PersonNamed notes a name, and the ring in which it is expected. Naming the
// same person again replaces what the actor said of them before.
type PersonNamed struct {
	Name string
	User UserID `json:",omitempty"`
	Ring Ring
}

func (e PersonNamed) apply(k *Kickoff, _ time.Time, by UserID) {
	named := NamedPerson{By: by, Name: e.Name, User: e.User, Ring: e.Ring}
	remove(k, &k.Roles.Named, func(n NamedPerson) bool { return n.By == by && n.Same(named) })
	add(k, &k.Roles.Named, named)
}

// SettleRoles puts people into rings where the lead sees it differently; an
// empty map takes the rings as they stand.
type SettleRoles struct {
	ByLead
	Rings map[UserID]Ring
}

func (i SettleRoles) decide(k *Kickoff, now time.Time) ([]Event, error) {
	return settle(k, StageRoles, checkRings(k, i.Rings), RolesSettled{Rings: i.Rings}, now)
}

func checkRings(k *Kickoff, rings map[UserID]Ring) error {
	for u, r := range rings {
		if !k.Takes(u) || !slices.Contains(Rings(), r) {
			return refuseField("rings", "Each person settled must take part, and stand in core team, consulted or informed.")
		}
	}
	return nil
}

// settleRolesAsTheyStand keeps what the lead settled before the stage was
// opened again.
func settleRolesAsTheyStand(k *Kickoff) Event { return RolesSettled{Rings: k.Roles.Settled} }

func skippedRoles(k *Kickoff) bool { return k.Roles.Skipped }

func clearRoles(k *Kickoff, _ int) { k.Roles.Done, k.Roles.Skipped = false, false }

func gaveRoles(k *Kickoff, u UserID, _ int) bool {
	return has(k.Roles.Self, u)
}

// RolesSettled ends the talk about rings.
type RolesSettled struct {
	Rings   map[UserID]Ring `json:",omitempty"`
	Skipped bool            `json:",omitempty"`
}

func (e RolesSettled) apply(k *Kickoff, _ time.Time, by UserID) {
	r := &k.Roles
	r.Done, r.DoneBy, r.Skipped, r.Settled = true, by, e.Skipped, nil
	if len(e.Rings) > 0 { // none and an empty map are one in the journal, so in the state too
		r.Settled = maps.Clone(e.Rings)
	}
}

func (e RolesSettled) react(b *reaction) {
	if e.Skipped {
		b.tellLeads(ScreenDesk, "")
		b.update(ScreenSettle, string(StageRoles))
		return
	}
	b.settled(StageRoles)
	b.show(ScreenResult, string(StageRoles))
}
