package flows

import (
	"fmt"
	"testing"

	"soundings/flows/event"
	"soundings/flows/state"
)

// One rating taken into a state, with few and with many people.
func BenchmarkApply(b *testing.B) {
	for _, people := range []int{12, 500} {
		b.Run(fmt.Sprint(people), func(b *testing.B) {
			k := ratedBy(b, people)
			r := event.Record{At: monday, By: "u7", Events: []event.Event{event.Rated{Round: 1, Assumption: "A1", Scale: state.Importance, Value: 7}}}
			for b.Loop() {
				Apply(k, k.Version+1, r)
			}
		})
	}
}

// One rating decided upon.
func BenchmarkDecide(b *testing.B) {
	for _, people := range []int{12, 500} {
		b.Run(fmt.Sprint(people), func(b *testing.B) {
			k := ratedBy(b, people)
			in := Rate{By: By{"u7"}, Round: 1, Assumption: "A1", Scale: state.Importance, Value: 7}
			for b.Loop() {
				if _, err := Decide(k, in, monday); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// ratedBy is a kickoff of so many people who have each rated something.
func ratedBy(b *testing.B, people int) state.Kickoff {
	w := newWorld()
	var all []state.Person
	for i := range people {
		all = append(all, state.Person{ID: state.UserID(fmt.Sprint("u", i)), Zone: zoneNames()[i%5]})
	}
	lead := ByLead{"u0"}
	w.must(b, Start{FromOutside: FromOutside{"u0"}, ID: "K1", Team: "T1", Channel: "C1", Pace: 10,
		Brief: state.Brief{Title: "Bicycles", Problem: "Nobody knows whether there is room on board."}, People: all},
		CloseNow{lead}, CloseNow{lead}, SettleFraming{ByLead: lead, Problem: "Nobody knows whether there is room on board."}, LeaveOut{ByLead: lead, Stages: []state.Stage{state.StageRoles}})
	for i := range 8 {
		w.must(b, AddAssumption{By: By{"u0"}, Text: fmt.Sprintf("People look up sailing %d at home.", i)})
	}
	w.must(b, CloseNow{lead})
	for _, p := range all {
		w.must(b, Rate{By: By{p.ID}, Round: 1, Assumption: "A2", Scale: state.Evidence, Value: 3})
	}
	return w.k
}
