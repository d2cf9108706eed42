package event

import (
	"time"

	"soundings/flows/state"
)

// PeopleKnown says who people are who take part already.
type PeopleKnown struct{ People []state.Person }

func (e PeopleKnown) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	who := make(map[state.UserID]state.Person, len(e.People))
	for _, p := range e.People {
		who[p.ID] = p
	}
	state.Own(k, &k.People)
	for i := range k.People {
		p := &k.People[i]
		known, ok := who[p.ID]
		if !ok {
			continue
		}
		p.Name, p.Sought = known.Name, false
		if p.Zone == "" { // else they have said it themselves meanwhile
			p.Zone = known.Zone
		}
	}
}
