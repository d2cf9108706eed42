package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// PeopleJoined adds people; in the open window they are asked as well.
type PeopleJoined struct{ People []state.Person }

func (e PeopleJoined) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Deserted = time.Time{}
	for _, p := range e.People {
		state.Remove(k, &k.People, func(old state.Person) bool { return old.ID == p.ID })
		state.Add(k, &k.People, p)
		state.Remove(k, &k.Asking, func(j state.JoinRequest) bool { return j.Person.ID == p.ID })
		asks := foldedAs(k.Stage).asks
		asked := asks == everybody || asks == whoRates && k.Rates(p.ID)
		if asked && k.Window.Phase == state.PhaseOpen && !slices.Contains(k.Window.Asked, p.ID) {
			state.Add(k, &k.Window.Asked, p.ID)
		}
	}
}

// JoinAsked notes that somebody outside asked to take part.
type JoinAsked struct{ Person state.Person }

func (e JoinAsked) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Add(k, &k.Asking, state.JoinRequest(e))
}

// PersonLeft ends somebody's part; nothing is asked of them any more.
type PersonLeft struct{ Person state.UserID }

func (e PersonLeft) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	changePerson(k, e.Person, func(p *state.Person) { p.Gone = true })
	state.Remove(k, &k.Window.Asked, func(u state.UserID) bool { return u == e.Person })
	if len(k.Participants()) == 0 {
		k.Deserted = at
	}
	moveTidying(k)
}
