package flows

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// Nobody rates forty assumptions well at once. A long list is dealt out: in the
// first round each person rates a share of it, and the second round is a second
// sitting, in which everybody rates what could still be among the first, and what
// is split. See package engine on how shares are dealt.

// UsualDeal is how a list is dealt out where the lead has not chosen: lists of more
// than LongList, if at least FewestDealt people rate each assumption. From fewer
// nobody could lean on the ratings.
const (
	LongList    = 20
	FewestDealt = 3
	UsualEach   = 15 // assumptions for each person
	UsualSecond = 12 // contenders at most in the second sitting, beside what is split

	MostEach = 100 // of both; more is no share
)

// firstPlaces is how many a map has to get right: those that are tested first.
const firstPlaces = 5

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
		refuseIf(i.Each < 0 || i.Each > MostEach, "each", "A share is 1 to %d assumptions.", MostEach),
		refuseIf(i.Each > 0 && (i.Second < 1 || i.Second > MostEach), "second", "In the second sitting everybody rates 1 to %d assumptions.", MostEach),
	), chosen)
}

// DealOf is how a list of so many would be dealt out, as things stand; each is 0
// where everybody rates all of it.
func DealOf(k *state.Kickoff, assumptions int) (each, second int) {
	each, second = k.Deal.Each, k.Deal.Second
	if !k.Deal.Chosen {
		each, second = UsualEach, UsualSecond
		if assumptions <= LongList || len(k.Raters())*UsualEach < FewestDealt*assumptions {
			return 0, 0
		}
	}
	if each >= assumptions {
		return 0, 0
	}
	return each, second
}

// deal deals ids to those who are asked now. Who has begun in the round that is
// there keeps what they have; of somebody who has left it is what they have rated.
func deal(k *state.Kickoff, ids []string, each int) map[state.UserID][]string {
	d := engine.Dealing{Seed: k.ID, Items: len(ids), Each: each}
	var to []state.UserID
	for _, p := range k.People {
		kept, begun := keeps(k, p)
		if p.Gone && !begun || !k.Rates(p.ID) {
			continue
		}
		hand := engine.Hand{Group: string(k.RingOf(p.ID))}
		if begun {
			hand.Begun = []int{}
		}
		for place, id := range ids {
			if slices.Contains(kept, id) {
				hand.Begun = append(hand.Begun, place)
			}
		}
		to, d.People = append(to, p.ID), append(d.People, hand)
	}
	dealt := map[state.UserID][]string{}
	for i, places := range engine.Deal(d) {
		for _, place := range places {
			if k.Takes(to[i]) {
				dealt[to[i]] = append(dealt[to[i]], ids[place])
			}
		}
	}
	return dealt
}

// keeps lists what stays with somebody who has begun: who has rated something in
// the first round, or has finished it. What they rated is their own affair, so of
// those who are still there it is only what they were asked.
func keeps(k *state.Kickoff, p state.Person) (kept []string, begun bool) {
	if len(k.Rounds) == 0 {
		return nil, false
	}
	r := k.Rounds[0]
	rated := r.Ballots[p.ID]
	switch finished := k.Stage == state.StageRating && lists.Has(k.Window.Done, p.ID); {
	case len(rated) == 0 && !finished:
		return nil, false
	case p.Gone:
		return slices.Collect(maps.Keys(rated)), true
	case r.Each == 0:
		return r.IDs, true
	}
	return r.Dealt[p.ID], true
}

// dealAnew deals again to those who have not begun, when people come, leave or
// stay silent while a list is rated that was dealt out.
func dealAnew(k *state.Kickoff) []event.Event {
	if k.Stage != state.StageRating || k.Window.Phase != state.PhaseOpen || k.Window.Round != 1 || k.Rounds[0].Each == 0 {
		return nil
	}
	r := k.Rounds[0]
	changed := deal(k, r.IDs, r.Each)
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

// askedAbout counts, for each assumption of the first round, who was asked about
// it in any round, and who of these has rated anything; nil where all were.
func askedAbout(k *state.Kickoff) []engine.Dealt {
	first, last := k.Rounds[0], k.Rounds[len(k.Rounds)-1]
	if first.Each == 0 {
		return nil
	}
	asked := make([]engine.Dealt, len(first.IDs))
	for _, p := range k.People {
		ballot := combinedBallot(k, p.ID)
		again := last.N > 1 && slices.Contains(k.Window.Asked, p.ID)
		for i, id := range first.IDs {
			dealt := !p.Gone && slices.Contains(first.Dealt[p.ID], id)
			if !lists.Has(ballot, id) && !dealt && !(again && slices.Contains(last.IDs, id)) {
				continue
			}
			asked[i].Asked++
			if len(ballot) > 0 {
				asked[i].Raters++
			}
		}
	}
	return asked
}
