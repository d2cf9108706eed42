package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
	"soundings/flows/tally"
)

// A long list is dealt out; see package tally.

// ChooseDeal is a lead's choice of who rates what, until the rating opens. The
// list is dealt out if it has more than Each; Each 0 asks everybody about all.
type ChooseDeal struct {
	ByLead
	Each, Second int
}

func (i ChooseDeal) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	chosen := event.DealChosen{Each: i.Each, Second: i.Second}
	if i.Each == 0 {
		chosen.Second = 0
	}
	return provided(cmp.Or(
		refuseIf(!yetToCome(k, state.StageRating), "", "The rating has opened, so who rates what stands. To change it, go back a step first."),
		refuseIf(i.Each < 0 || i.Each > tally.MostEach, "each", "A share is 1 to %d assumptions.", tally.MostEach),
		refuseIf(i.Each > 0 && (i.Second < 1 || i.Second > tally.MostEach), "second", "In the second sitting everybody rates 1 to %d assumptions.", tally.MostEach),
	), chosen)
}

// dealAnew deals again to those who have not begun, when people come, leave or
// stay silent while a list is rated that was dealt out.
func dealAnew(k *state.Kickoff) []event.Event {
	if k.Stage != state.StageRating || k.Window.Phase != state.PhaseOpen || k.Window.Round != 1 || k.Rounds[0].Each == 0 {
		return nil
	}
	r := k.Rounds[0]
	changed := tally.Deal(k, r.IDs, r.Each)
	for u, share := range changed {
		if slices.Equal(share, r.Dealt[u]) {
			delete(changed, u)
		}
	}
	if len(changed) == 0 {
		return nil
	}
	return []event.Event{event.BallotsDealt{Dealt: changed}}
}

// afterwards gives events and, dealt after they were applied to k, what is dealt
// anew for them.
func afterwards(k *state.Kickoff, events []event.Event, now time.Time) []event.Event {
	for _, e := range events {
		e.Apply(k, now, "")
	}
	return append(events, dealAnew(k)...)
}
