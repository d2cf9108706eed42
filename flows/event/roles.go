package event

import (
	"maps"
	"time"

	"soundings/flows/state"
)

// PlacedSelf is somebody's own choice of ring.
type PlacedSelf struct {
	Ring state.Ring
	Days float64 `json:",omitempty"`
}

func (e PlacedSelf) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Roles.Self, by, e.Ring)
	state.Drop(k, &k.Roles.Days, by)
	if e.Ring == state.Core {
		state.Put(k, &k.Roles.Days, by, e.Days)
	}
}

// PersonNamed notes a name, and the ring in which it is expected. Naming the
// same person again replaces what the actor said of them before.
type PersonNamed struct {
	Name string
	User state.UserID `json:",omitempty"`
	Ring state.Ring
}

func (e PersonNamed) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	named := state.NamedPerson{By: by, Name: e.Name, User: e.User, Ring: e.Ring}
	state.Remove(k, &k.Roles.Named, func(n state.NamedPerson) bool { return n.By == by && n.Same(named) })
	state.Add(k, &k.Roles.Named, named)
}

func clearRoles(k *state.Kickoff, _ int) { k.Roles.Done = false }

// RolesSettled ends the talk about rings.
type RolesSettled struct {
	Rings   map[state.UserID]state.Ring `json:",omitempty"`
	Skipped bool                        `json:",omitempty"` // of an older release, which could leave out no other stage
}

func (e RolesSettled) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	r := &k.Roles
	r.Done, r.DoneBy, r.Settled = true, by, nil
	if e.Skipped {
		leaveOut(k, state.StageRoles)
	}
	if len(e.Rings) > 0 { // none and an empty map are one in the journal, so in the state too
		r.Settled = maps.Clone(e.Rings)
	}
}
