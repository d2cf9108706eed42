package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
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

func (i PlaceSelf) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	check := cmp.Or(
		canAnswer(k, state.StageRoles),
		checkRing(i.Ring),
		refuseIf(!within(i.Days, 5), "days", "Days a week are between 0 and 5."),
	)
	e := event.PlacedSelf{Ring: i.Ring}
	if i.Ring == state.Core {
		e.Days = i.Days
		if e.Days == 0 && !i.Said {
			e.Days = state.DefaultDays
		}
	}
	return provided(check, append([]event.Event{e}, finish(k, i.Who)...)...)
}

func checkRing(r state.Ring) error {
	return refuseIf(!slices.Contains(state.Rings(), r), "ring", "Choose core team, consulted or informed.")
}

// NamePerson says who is missing, or in which ring somebody is expected.
type NamePerson struct {
	By
	Name string       // as written
	User state.UserID // when it is somebody on the platform
	Ring state.Ring
}

func (i NamePerson) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(
		canAnswer(k, state.StageRoles),
		checkText("name", "name", i.Name, MaxTitle, i.User == ""),
		checkRing(i.Ring),
	); err != nil {
		return nil, err
	}
	said := slices.Contains(k.Roles.Named, state.NamedPerson{By: i.Who, Name: i.Name, User: i.User, Ring: i.Ring})
	return when(!said, event.PersonNamed{Name: i.Name, User: i.User, Ring: i.Ring})
}

// SettleRoles puts people into rings where the lead sees it differently; an
// empty map takes the rings as they stand.
type SettleRoles struct {
	ByLead
	Rings map[state.UserID]state.Ring
}

func (i SettleRoles) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	return settle(k, state.StageRoles, checkRings(k, i.Rings), event.RolesSettled{Rings: i.Rings}, now)
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
func settleRolesAsTheyStand(k *state.Kickoff) event.Event {
	return event.RolesSettled{Rings: k.Roles.Settled}
}

func gaveRoles(k *state.Kickoff, u state.UserID, _ int) bool {
	return lists.Has(k.Roles.Self, u)
}

// afterRoles says what should follow from who does what.
func afterRoles(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.RolesSettled:
		if e.Skipped { // of an older release
			return
		}
		b.settled(state.StageRoles)
		b.show(ScreenResult, string(state.StageRoles))
	}
}
