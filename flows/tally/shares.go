package tally

import (
	"maps"
	"slices"

	"soundings/engine"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// Nobody rates forty assumptions well at once. A long list is dealt out: in the
// first round each person rates a share of it, and the second round is a second
// sitting, in which everybody rates what could still be among the first, and what
// is split. See package engine on how shares are dealt.

// Where the lead has not chosen, a list of more than LongList is dealt out, if at least
// FewestDealt people rate each assumption.
const (
	LongList    = 20
	FewestDealt = 3
	UsualEach   = 15 // assumptions for each person
	UsualSecond = 12 // contenders at most in the second sitting, beside what is split

	MostEach = 100 // of both; more is no share
)

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

// Deal deals ids to those who are asked now. Who has begun in the round that is
// there keeps what they have; of somebody who has left it is what they have rated.
func Deal(k *state.Kickoff, ids []string, each int) map[state.UserID][]string {
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
