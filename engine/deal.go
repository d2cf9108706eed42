package engine

import (
	"cmp"
	"hash/fnv"
	"math/rand/v2"
	"slices"
)

// Long lists are dealt out: each person rates a share of the assumptions, so that
// nobody rates forty of them in one sitting. What is given up is found again in a
// second sitting, in which everybody rates the few that could still be among the
// first: see [Contenders]. Every assumption is rated by as many people as any
// other, as in a balanced incomplete block design (Yates F. 1936, Annals of
// Eugenics 7, 121-140); exact designs exist for few numbers only, so this deals
// greedily and is as even as the numbers allow, while pairs are only spread.

// A Dealing is what is dealt out to whom. Of assumptions it knows the number.
type Dealing struct {
	Seed   string // tells one deal from another of the same numbers; may be empty
	Items  int    // assumptions, 0 or more
	Each   int    // how many a person rates, at most; from 1
	People []Hand // in a fixed order
}

// A Hand is one person to whom assumptions are dealt.
type Hand struct {
	// Group is whom the person stands for, as a ring of the stakeholder map does.
	// Each assumption is dealt to people of as many groups as can be.
	Group string
	// Begun are the places of the assumptions that stay with somebody who has
	// begun to rate. Nil deals to them anew.
	Begun []int
}

// Deal gives each person a share of the assumptions: their places, from 0, in
// rising order, at most Each of them; who has begun keeps what they have. The same
// dealing gives the same shares.
//
// Of two assumptions the one that a person was dealt, and the other not, has at
// most one rater more. Without anybody who has begun, no assumption has more than
// one rater more than any other.
//
// It deals to one person after the other: of the assumptions that the fewest have
// so far, those that the fewest of their group have; of these the one that has met
// those on the ballot least often; of equals the one that comes next behind the
// last that was dealt, in an order that hangs on the seed. It takes a time that
// grows with people times the square of assumptions: a millisecond for 12 and 40.
func Deal(d Dealing) [][]int {
	t := newDealer(d)
	shares := make([][]int, len(d.People))
	for person, hand := range d.People {
		if hand.Begun != nil {
			shares[person] = slices.Sorted(slices.Values(hand.Begun))
			t.hold(hand)
		}
	}
	for person, hand := range d.People {
		if hand.Begun == nil {
			shares[person] = t.deal(hand.Group, min(d.Each, d.Items))
		}
	}
	return shares
}

// A dealer counts what was dealt so far.
type dealer struct {
	sequence []int            // all assumptions, in the order in which equals are dealt
	times    []int            // on how many ballots each is
	grouped  map[string][]int // likewise, on those of a group
	met      [][]int32        // how often two are on one ballot
	last     int              // place in the sequence of the one that was dealt last
}

func newDealer(d Dealing) *dealer {
	t := &dealer{sequence: places(d.Items), times: make([]int, d.Items), grouped: map[string][]int{}, met: make([][]int32, d.Items), last: d.Items - 1}
	for i := range t.met {
		t.met[i] = make([]int32, d.Items)
	}
	if d.Seed != "" {
		sum := fnv.New64a()
		_, _ = sum.Write([]byte(d.Seed)) // which cannot fail
		rng := rand.New(rand.NewPCG(sum.Sum64(), 0))
		rng.Shuffle(d.Items, func(i, j int) { t.sequence[i], t.sequence[j] = t.sequence[j], t.sequence[i] })
	}
	return t
}

func (t *dealer) group(name string) []int {
	if t.grouped[name] == nil {
		t.grouped[name] = make([]int, len(t.times))
	}
	return t.grouped[name]
}

// hold counts the ballot of somebody who has begun.
func (t *dealer) hold(h Hand) {
	group := t.group(h.Group)
	for n, a := range h.Begun {
		t.times[a]++
		group[a]++
		for _, b := range h.Begun[:n] {
			t.met[a][b]++
			t.met[b][a]++
		}
	}
}

// deal fills the ballot of one more person of a group.
func (t *dealer) deal(name string, each int) []int {
	group := t.group(name)
	share := []int{}
	known := make([]int32, len(t.times)) // how often each has met those on this ballot
	for range each {
		best, at := -1, 0
		for step := 1; step <= len(t.sequence); step++ {
			place := (t.last + step) % len(t.sequence)
			a := t.sequence[place]
			if !slices.Contains(share, a) && (best < 0 || cmp.Or(cmp.Compare(t.times[a], t.times[best]),
				cmp.Compare(group[a], group[best]), cmp.Compare(known[a], known[best])) < 0) {
				best, at = a, place
			}
		}
		for _, a := range share {
			t.met[a][best]++
			t.met[best][a]++
		}
		for a := range known {
			known[a] += t.met[a][best]
		}
		t.times[best]++
		group[best]++
		t.last = at
		share = append(share, best)
	}
	slices.Sort(share)
	return share
}

// couldBe is the share of resamples from which on an assumption could still be
// among the first. No source: with it BenchmarkRecovery finds as much in a second
// sitting as with 0.05, with two questions a person fewer.
const couldBe = 0.15

// Contenders are the assumptions of a table that could still be among the first
// so many of its test order: those that are in 15 of 100 resamples or more, and
// those that are now. Of more than most the likeliest count. What nobody has rated
// on one of the scales could be anywhere, so it comes before them. They are given in
// the order of the table.
func Contenders(t Table, o Options, first, most int) []string {
	w := newScoring(t, o)
	w.spreads()
	w.ranks()
	likely := make([]float64, len(w.scores)) // of each, how likely it is among the first
	for i := range likely {
		likely[i] = 1
	}
	if shares, ranked := w.drawn(); shares != nil {
		for item, i := range ranked {
			likely[i] = float64(shares.top(first, item))
		}
	}
	among := w.order[:0:0]
	for _, i := range w.order {
		if rank := w.scores[i].Rank; likely[i] >= couldBe || rank != 0 && int(rank) <= first {
			among = append(among, i)
		}
	}
	slices.SortStableFunc(among, func(i, j int32) int { return cmp.Compare(likely[j], likely[i]) })
	var ids []string
	for _, i := range among[:min(most, len(among))] {
		ids = append(ids, w.scores[i].ID)
	}
	slices.SortFunc(ids, func(a, b string) int { return cmp.Compare(slices.Index(t.IDs, a), slices.Index(t.IDs, b)) })
	return ids
}
