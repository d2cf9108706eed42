package engine

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// groupTable has a column of ratings for each assumption, as importance; the first raters are
// the first group.
func groupTable(ratings [][]Rating, inFirst int) (t Table, first []bool) {
	for i := range ratings[0] {
		t.IDs = append(t.IDs, "A"+string(rune('1'+i)))
	}
	for rater, row := range ratings {
		t.Raters = append(t.Raters, string(rune('a'+rater)))
		t.Importance, t.Evidence = append(t.Importance, row), append(t.Evidence, make([]Rating, len(row)))
		first = append(first, rater < inFirst)
	}
	return t, first
}

func TestContrastsVectors(t *testing.T) {
	eachVector(t, "group_contrasts", func(t *testing.T, c vectorCase) {
		var in struct {
			Ratings [][]Rating `json:"ratings_by_rater"`
			InFirst int        `json:"in_first"`
		}
		var want struct{ Z, P []*float64 }
		c.read(t, &in, &want)
		table, first := groupTable(in.Ratings, in.InFirst)
		got := Contrasts(table, first, 1)
		require.Len(t, got, 2*len(want.Z))
		for i := range want.Z {
			importance := got[2*i]
			assert.Equal(t, want.Z[i] != nil, importance.Z.Defined())
			assert.Equal(t, want.P[i] != nil, importance.P.Defined())
			nearIfGiven(t, "z of "+importance.ID, float64(importance.Z), want.Z[i], c.Tolerance)
			nearIfGiven(t, "p of "+importance.ID, float64(importance.P), want.P[i], c.Tolerance)
			assert.False(t, got[2*i+1].P.Defined(), "nobody rated the evidence")
		}
	})
}

// A ballot that says the same of everything is on no side.
func TestContrastsLeaveFlatBallotsOut(t *testing.T) {
	ratings := [][]Rating{{9, 1, 5, 4, 6, 2}, {8, 2, 4, 4, 5, 1}, {7, 1, 6, 3, 6, 2}, {8, 1, 5, 5, 5, 1}, {9, 9, 9, 9, 9, 9},
		{1, 1, 5, 4, 6, 2}, {2, 2, 4, 4, 5, 1}, {3, 1, 6, 3, 6, 2}, {2, 1, 5, 5, 5, 1}}
	table, first := groupTable(ratings, 5)
	with := Contrasts(table, first, 1)[2] // of A2, on which the two sides say the same
	assert.Zero(t, with.Z)
	assert.Equal(t, [2]int{4, 4}, [2]int{with.Ratings[0].N(), with.Ratings[1].N()})
	table.Importance[4][1] = 3 // five of six alike are not flat
	table.Importance[4][2] = 2
	assert.Equal(t, 5, func() int { c := Contrasts(table, first, 1)[2]; return c.Ratings[0].N() }())
}

// Drawn ways come close to all of them: 9 beside 9 people have 48,620.
func TestContrastsOfManyAreDrawn(t *testing.T) {
	var ratings [][]Rating
	for rater := range 18 {
		ratings = append(ratings, []Rating{Rating(1 + (rater*5)%9), Rating(1 + rater/2)})
	}
	table, first := groupTable(ratings, 9)
	g := newGrouping(table, first)
	drawn, counted := g.largest(1), 0
	require.Len(t, drawn, mostWays)
	all, most := 0, g.contrasts[2].Z
	g.each(0, 9, make([]float64, len(g.contrasts)), func(sums []float64) {
		all++
		if largestOf(sums) >= 1.96 {
			counted++
		}
	})
	require.Equal(t, 48620, all)
	at, _ := slices.BinarySearch(drawn, 1.96)
	assert.InDelta(t, float64(counted)/float64(all), float64(len(drawn)-at)/float64(len(drawn)), 0.01)
	assert.Less(t, float64(most), -3.0, "the later raters rate it higher")
	assert.Less(t, float64(Contrasts(table, first, 1)[2].P), 0.001)
}

// Where the groups do not matter, something in a table looks different with P of 0.05 or
// less in no more than 5 of 100 tables: what P means.
func TestContrastsRarelySeeWhatIsNotThere(t *testing.T) {
	const tables = 2000
	random, wrong := rand.New(rand.NewPCG(7, 0)), 0
	for range tables {
		ratings := make([][]Rating, 10)
		for rater := range ratings {
			for range 8 {
				ratings[rater] = append(ratings[rater], Rating(1+random.IntN(9)))
			}
		}
		table, first := groupTable(ratings, 5)
		if slices.ContainsFunc(Contrasts(table, first, 1), func(c Contrast) bool { return c.P <= 0.05 }) {
			wrong++
		}
	}
	assert.LessOrEqual(t, float64(wrong)/tables, 0.05+3*0.005, "three standard deviations above")
	assert.Greater(t, wrong, tables/100, "it sees nothing at all")
}

// Neither the order of raters nor a name changes a contrast; groups exchanged change its sign.
func TestContrastsDoNotHangOnTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(t, "raters")
		ratings := make([][]Rating, n)
		first, others := make([]bool, n), make([]bool, n)
		for rater := range ratings {
			ratings[rater] = []Rating{Rating(rapid.IntRange(0, 9).Draw(t, "a")), Rating(rapid.IntRange(0, 9).Draw(t, "b"))}
			first[rater] = rapid.Bool().Draw(t, "first")
			others[rater] = !first[rater]
		}
		table, _ := groupTable(ratings, 0)
		got := Contrasts(table, first, 1)
		exchanged := Contrasts(table, others, 1)
		slices.Reverse(table.Importance)
		slices.Reverse(first)
		turned := Contrasts(table, first, 1)
		for i, c := range got {
			assert.Equal(t, c.Z.Defined(), exchanged[i].Z.Defined())
			if !c.Z.Defined() {
				continue
			}
			assert.InDelta(t, float64(c.Z), float64(turned[i].Z), 1e-9)
			assert.InDelta(t, float64(c.P), float64(turned[i].P), 1e-9)
			assert.InDelta(t, float64(c.Z), -float64(exchanged[i].Z), 1e-9)
			assert.InDelta(t, float64(c.P), float64(exchanged[i].P), 1e-9)
		}
	})
}

// A ballot decides where the map without it has another first three: by hand, with one
// assumption that only the last ballot puts before another.
func TestPivotal(t *testing.T) {
	rate := func(last ...Rating) Table {
		t := Table{IDs: []string{"A1", "A2", "A3", "A4"}, Raters: []string{"a", "b", "c", "d", "e"}}
		for range 4 {
			t.Importance = append(t.Importance, []Rating{9, 9, 7, 7})
		}
		t.Importance = append(t.Importance, last)
		for range 5 {
			t.Evidence = append(t.Evidence, []Rating{1, 1, 2, 2})
		}
		return t
	}
	assert.Empty(t, Pivotal(rate(9, 9, 9, 7), Options{}, 3), "A3 leads by its id as well")
	assert.Equal(t, []string{"A4"}, Pivotal(rate(9, 9, 7, 9), Options{}, 3))
	assert.Empty(t, Pivotal(Table{}, Options{}, 3))
}

// Taken apart: each that Pivotal names is missing from the map of some table with one rater
// less, and no other of the first three is.
func TestPivotalIsTheMapWithOneRaterLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := Table{IDs: []string{"A1", "A2", "A3", "A4", "A5"}}
		for rater := range rapid.IntRange(1, 7).Draw(t, "raters") {
			var rows [2][]Rating
			for scale := range rows {
				for range table.IDs {
					rows[scale] = append(rows[scale], Rating(rapid.IntRange(0, 9).Draw(t, "rating")))
				}
			}
			table.Raters = append(table.Raters, string(rune('a'+rater)))
			table.Importance, table.Evidence = append(table.Importance, rows[0]), append(table.Evidence, rows[1])
		}
		got := Pivotal(table, Options{}, 3)
		full := Score(table, Options{Draws: 1})
		for rank, id := range full.Order[:3] {
			if !ranked(full, id) {
				break
			}
			missing := false
			for out := range table.Raters {
				less := Table{IDs: table.IDs, Raters: without(table.Raters, out), Importance: without(table.Importance, out), Evidence: without(table.Evidence, out)}
				r := Score(less, Options{Draws: 1, Asked: max(1, len(table.Raters)-1)})
				if at := slices.Index(r.Order, id); at >= 3 || !ranked(r, id) {
					missing = true
				}
			}
			assert.Equal(t, missing, slices.Contains(got, id), "%s, at place %d", id, rank+1)
		}
	})
}

func ranked(r Result, id string) bool {
	return slices.ContainsFunc(r.Assumptions, func(a AssumptionScore) bool { return a.ID == id && a.Rank != 0 })
}
