package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawDealing draws people of three rings, of whom some have begun what an
// earlier deal gave them.
func drawDealing(t *rapid.T) Dealing {
	d := Dealing{Seed: rapid.SampledFrom([]string{"", "K1", "K2"}).Draw(t, "seed"),
		Items: rapid.IntRange(1, 50).Draw(t, "items"), Each: rapid.IntRange(1, 20).Draw(t, "each")}
	for range rapid.IntRange(0, 24).Draw(t, "people") {
		d.People = append(d.People, Hand{Group: rapid.SampledFrom([]string{"core", "consulted", ""}).Draw(t, "group")})
	}
	for person, share := range Deal(d) {
		if rapid.IntRange(0, 3).Draw(t, "begun") == 0 {
			d.People[person].Begun = share
		}
	}
	return d
}

func timesOf(shares [][]int, items int) []int {
	times := make([]int, items)
	for _, share := range shares {
		for _, a := range share {
			times[a]++
		}
	}
	return times
}

func TestDealIsEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDealing(t)
		shares := Deal(d)
		require.Len(t, shares, len(d.People))
		assert.Equal(t, shares, Deal(d), "the same dealing, other shares")
		times := timesOf(shares, d.Items)
		for person, share := range shares {
			assert.Len(t, share, min(d.Each, d.Items))
			assert.True(t, slices.IsSorted(share))
			assert.Len(t, slices.Compact(slices.Clone(share)), len(share), "something twice on one ballot")
			if begun := d.People[person].Begun; begun != nil {
				assert.Equal(t, begun, share, "what somebody has begun was changed")
				continue
			}
			for _, a := range share {
				for b := range d.Items {
					if !slices.Contains(share, b) {
						assert.LessOrEqual(t, times[a], times[b]+1, "person %d has %d and not %d", person, a, b)
					}
				}
			}
		}
		fresh := d
		fresh.People = make([]Hand, len(d.People))
		for i, hand := range d.People {
			fresh.People[i].Group = hand.Group
		}
		times = timesOf(Deal(fresh), d.Items)
		assert.LessOrEqual(t, slices.Max(times)-slices.Min(times), 1, "nobody has begun, and yet %v", times)
	})
}

// Whoever leaves, or comes late: what those have begun who stay is theirs, and
// what is left is dealt so that no assumption is forgotten.
func TestDealAnewCoversWhatIsLeft(t *testing.T) {
	d := dealing(40, 12, 15)
	shares := Deal(d)
	for i := range 5 { // these have begun, four of the others leave
		d.People[i].Begun = shares[i]
	}
	d.People = d.People[:8]
	times := timesOf(Deal(d), 40)
	assert.Equal(t, []int{3, 3}, []int{slices.Min(times), slices.Max(times)}, "8 people with 15 each over 40")
}

// Every ring rates every assumption where it has people enough.
func TestDealSpreadsRings(t *testing.T) {
	d := dealing(30, 12, 15)
	for i := range d.People {
		d.People[i].Group = []string{"core", "consulted", "informed"}[i%3]
	}
	shares := Deal(d)
	for ring := range 3 { // 4 people with 15 each over 30
		times := make([]int, d.Items)
		for i := ring; i < len(shares); i += 3 {
			for _, a := range shares[i] {
				times[a]++
			}
		}
		assert.GreaterOrEqual(t, slices.Min(times), 1, "times in ring %d: %v", ring, times)
		assert.LessOrEqual(t, slices.Max(times), 3, "times in ring %d: %v", ring, times)
	}
}

func dealing(items, people, each int) Dealing {
	return Dealing{Items: items, Each: each, People: make([]Hand, people)}
}

func TestTheSeedMakesAnotherDeal(t *testing.T) {
	one, other := dealing(40, 12, 15), dealing(40, 12, 15)
	one.Seed, other.Seed = "K1", "K2"
	assert.NotEqual(t, Deal(one), Deal(other))
}

// With 12 people and 40 assumptions every assumption should meet many others:
// of 39 a deal in one round-robin, 15 by 15, reaches far fewer.
func TestDealSpreadsPairs(t *testing.T) {
	dealt := Deal(dealing(40, 12, 15))
	robin := make([][]int, 12)
	for i := range 12 * 15 {
		robin[i/15] = append(robin[i/15], i%40)
	}
	assert.Greater(t, fewestMet(dealt, 40), fewestMet(robin, 40))
	assert.GreaterOrEqual(t, fewestMet(dealt, 40), 26)
}

// fewestMet is with how many others the one that meets fewest shares a ballot.
func fewestMet(dealt [][]int, assumptions int) int {
	met := make([]map[int]bool, assumptions)
	for _, ballot := range dealt {
		for _, a := range ballot {
			if met[a] == nil {
				met[a] = map[int]bool{}
			}
			for _, b := range ballot {
				met[a][b] = true
			}
		}
	}
	fewest := assumptions
	for _, m := range met {
		fewest = min(fewest, len(m)-1)
	}
	return fewest
}

// What nobody has rated is a contender, and so is whatever is first now; the
// first of all is never left out.
func TestContenders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := drawTable(t)
		first, most := rapid.IntRange(1, 6).Draw(t, "first"), rapid.IntRange(1, 12).Draw(t, "most")
		ids := Contenders(table, Options{Draws: 50}, first, most)
		assert.LessOrEqual(t, len(ids), most)
		assert.Equal(t, ids, Contenders(table, Options{Draws: 50}, first, most))
		result := Score(table, Options{Draws: 50})
		among, places := map[string]bool{}, []int{}
		for _, id := range ids {
			among[id] = true
			places = append(places, slices.Index(table.IDs, id))
		}
		assert.True(t, slices.IsSorted(places), "not in the order of the table: %v", ids)
		unrated := 0
		for _, a := range result.Assumptions {
			if a.Rank == 0 {
				unrated++
			}
			assert.False(t, a.Rank == 0 && !among[a.ID] && len(ids) < most, "%s could be anywhere", a.ID)
			assert.False(t, a.Rank != 0 && int(a.Rank) <= first && !among[a.ID] && len(ids) < most, "%s is among the first", a.ID)
		}
		assert.GreaterOrEqual(t, len(ids), min(most, len(table.IDs), unrated+min(first, len(table.IDs)-unrated)))
	})
}

// How many were asked about an assumption decides whether it is thin.
func TestThinKnowsWhoWasAsked(t *testing.T) {
	table := randomTable(3, 2, 0)
	thin := func(dealt []Dealt) (out []bool) {
		for _, a := range Score(table, Options{Asked: 12, Draws: 10, Dealt: dealt}).Assumptions {
			out = append(out, a.Thin)
		}
		return out
	}
	assert.Equal(t, []bool{true, true}, thin(nil), "3 of 12")
	assert.Equal(t, []bool{false, true}, thin([]Dealt{{Asked: 5, Raters: 3}, {Asked: 7, Raters: 3}}), "3 of 5, 3 of 7")
}
