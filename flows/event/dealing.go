package event

import (
	"time"

	"soundings/flows/state"
)

// DealChosen says how the list will be dealt out; Each 0 not at all.
type DealChosen struct{ Each, Second int }

func (e DealChosen) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Deal = state.Deal{Chosen: true, Each: e.Each, Second: e.Second}
}

// BallotsDealt gives people another share of the first round.
type BallotsDealt struct {
	Dealt map[state.UserID][]string
}

func (e BallotsDealt) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	if len(k.Rounds) == 0 {
		return
	}
	r := &state.Own(k, &k.Rounds)[0]
	for u, share := range e.Dealt {
		state.Put(k, &r.Dealt, u, share)
	}
}
