package flows

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"soundings/flows/lists"
	"soundings/flows/state"
)

// PlaceSelf says in which ring the actor sees themselves, and for the core
// how many days a week they can give.
type PlaceSelf struct {
	By
	Ring state.Ring
	Days float64 // counts only in the core
	Said bool    // they said how many, if only none; else 0 means DefaultDays
}

func (i PlaceSelf) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	check := cmp.Or(
		canAnswer(k, state.StageRoles),
		checkRing(i.Ring),
		refuseIf(!within(i.Days, 5), "days", "Days a week are between 0 and 5."),
	)
	e := PlacedSelf{Ring: i.Ring}
	if i.Ring == state.Core {
		e.Days = i.Days
		if e.Days == 0 && !i.Said {
			e.Days = state.DefaultDays
		}
	}
	return provided(check, append([]Event{e}, finish(k, i.Who)...)...)
}

func checkRing(r state.Ring) error {
	return refuseIf(!slices.Contains(state.Rings(), r), "ring", "Choose core team, consulted or informed.")
}

// PlacedSelf is somebody's own choice of ring.
type PlacedSelf struct {
	Ring state.Ring
	Days float64 `json:",omitempty"`
}

func (e PlacedSelf) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Roles.Self, by, e.Ring)
	state.Drop(k, &k.Roles.Days, by)
	if e.Ring == state.Core {
		state.Put(k, &k.Roles.Days, by, e.Days)
	}
}

// NamePerson says who is missing, or in which ring somebody is expected.
type NamePerson struct {
	By
	Name string       // as written
	User state.UserID // when it is somebody on the platform
	Ring state.Ring
}

func (i NamePerson) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if err := cmp.Or(
		canAnswer(k, state.StageRoles),
		checkText("name", "name", i.Name, MaxTitle, i.User == ""),
		checkRing(i.Ring),
	); err != nil {
		return nil, err
	}
	said := slices.Contains(k.Roles.Named, state.NamedPerson{By: i.Who, Name: i.Name, User: i.User, Ring: i.Ring})
	return when(!said, PersonNamed{Name: i.Name, User: i.User, Ring: i.Ring})
}

// PersonNamed notes a name, and the ring in which it is expected. Naming the
// same person again replaces what the actor said of them before.
type PersonNamed struct {
	Name string
	User state.UserID `json:",omitempty"`
	Ring state.Ring
}

func (e PersonNamed) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	named := state.NamedPerson{By: by, Name: e.Name, User: e.User, Ring: e.Ring}
	state.Remove(k, &k.Roles.Named, func(n state.NamedPerson) bool { return n.By == by && n.Same(named) })
	state.Add(k, &k.Roles.Named, named)
}

// SettleRoles puts people into rings where the lead sees it differently; an
// empty map takes the rings as they stand.
type SettleRoles struct {
	ByLead
	Rings map[state.UserID]state.Ring
}

func (i SettleRoles) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	return settle(k, state.StageRoles, checkRings(k, i.Rings), RolesSettled{Rings: i.Rings}, now)
}

func checkRings(k *state.Kickoff, rings map[state.UserID]state.Ring) error {
	for u, r := range rings {
		if !k.Takes(u) || !slices.Contains(state.Rings(), r) {
			return refuseField("rings", "Each person settled must take part, and stand in core team, consulted or informed.")
		}
	}
	return nil
}

// settleRolesAsTheyStand keeps what the lead settled before the stage was
// opened again.
func settleRolesAsTheyStand(k *state.Kickoff) Event { return RolesSettled{Rings: k.Roles.Settled} }

func skippedRoles(k *state.Kickoff) bool { return k.Roles.Skipped }

func clearRoles(k *state.Kickoff, _ int) { k.Roles.Done, k.Roles.Skipped = false, false }

func gaveRoles(k *state.Kickoff, u state.UserID, _ int) bool {
	return lists.Has(k.Roles.Self, u)
}

// RolesSettled ends the talk about rings.
type RolesSettled struct {
	Rings   map[state.UserID]state.Ring `json:",omitempty"`
	Skipped bool                        `json:",omitempty"`
}

func (e RolesSettled) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	r := &k.Roles
	r.Done, r.DoneBy, r.Skipped, r.Settled = true, by, e.Skipped, nil
	if len(e.Rings) > 0 { // none and an empty map are one in the journal, so in the state too
		r.Settled = maps.Clone(e.Rings)
	}
}

func (e RolesSettled) react(b *reaction) {
	if e.Skipped {
		b.tellLeads(ScreenDesk, "")
		b.update(ScreenSettle, string(state.StageRoles))
		return
	}
	b.settled(state.StageRoles)
	b.show(ScreenResult, string(state.StageRoles))
}
