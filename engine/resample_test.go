package engine

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// drawTable makes a table with ties, gaps and raters who abstain.
func drawTable(t *rapid.T) Table {
	raters := rapid.IntRange(1, 8).Draw(t, "raters")
	assumptions := rapid.IntRange(1, 8).Draw(t, "assumptions")
	most := rapid.SampledFrom([]int{2, 9}).Draw(t, "highest rating")
	row := rapid.SliceOfN(rapid.Map(rapid.IntRange(0, most), func(v int) Rating { return Rating(v) }), assumptions, assumptions)
	table := Table{
		Raters:     rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z]{1,3}`), raters, raters, rapid.ID[string]).Draw(t, "names"),
		IDs:        rapid.SliceOfNDistinct(rapid.StringMatching(`A[0-9]{1,2}`), assumptions, assumptions, rapid.ID[string]).Draw(t, "ids"),
		Importance: rapid.SliceOfN(row, raters, raters).Draw(t, "importance"),
		Evidence:   rapid.SliceOfN(row, raters, raters).Draw(t, "evidence"),
	}
	table.Statements = make([]string, assumptions)
	return table
}

// The naive median repeats each rating as often as it was drawn, and sorts.
func naiveLevel(ratings [][]Rating, weights []int32, column int) (level int32, lean float64) {
	var drawn []float64
	for rater, row := range ratings {
		for range weights[rater] {
			if row[column] != 0 {
				drawn = append(drawn, float64(row[column]))
			}
		}
	}
	if len(drawn) == 0 {
		return 0, 0
	}
	slices.Sort(drawn)
	return int32(2 * Quantile(drawn, 0.5)), naiveLean(drawn)
}

func TestTalliesAgainstTheirTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raters := rapid.IntRange(1, packedMost).Draw(t, "raters")
		row := rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 9), func(v int) Rating { return Rating(v) }), 4, 4)
		ratings := rapid.SliceOfN(row, raters, raters).Draw(t, "ratings")
		weights := make([]int32, raters)
		for range raters {
			weights[rapid.IntRange(0, raters-1).Draw(t, "drawn")]++
		}
		for name, tally := range map[string]tallier{"packed": newPackedTally(ratings), "wide": newWideTally(ratings)} {
			draw := rapid.IntRange(0, tally.draws()-1).Draw(t, "draw")
			all := make([]reading, draw+1)
			for at := range all {
				all[at] = medianReading(4)
				tally.set(at, make([]int32, raters))
			}
			for range 2 { // the second time finds nothing left of the first
				tally.set(draw, weights)
				tally.tally(all)
			}
			for _, empty := range all[:draw] {
				assert.Equal(t, make([]int32, 4), empty.level, "%s levels where nobody was drawn", name)
			}
			out := all[draw]
			for column, got := range out.level {
				level, lean := naiveLevel(ratings, weights, column)
				assert.Equal(t, level, got, "%s level of column %d", name, column)
				if level > 0 {
					assert.Equal(t, fineLevel(level, lean), out.fine[column], "%s lean of column %d", name, column)
				}
			}
		}
	})
}

// A counter that is full to the brim, for each rating.
func TestPackedTallyHoldsAllOfItsRaters(t *testing.T) {
	for rating := Rating(1); rating <= 9; rating++ {
		ratings := make([][]Rating, packedMost)
		for i := range ratings {
			ratings[i] = []Rating{rating}
		}
		weights := make([]int32, packedMost)
		weights[5] = packedMost
		out := medianReading(1)
		tally := newPackedTally(ratings)
		tally.set(0, weights)
		tally.tally([]reading{out})
		assert.Equal(t, 2*int32(rating), out.level[0], "level of %d ratings of %d", packedMost, rating)
		assert.Equal(t, fineLevel(out.level[0], 0), out.fine[0], "lean of %d ratings of %d", packedMost, rating)
	}
	tooMany := make([][]Rating, packedMost+1)
	for i := range tooMany {
		tooMany[i] = []Rating{9}
	}
	_, packed := newTallier(tooMany).(*packedTally)
	assert.False(t, packed, "%d raters are counted in %d-bit counters", len(tooMany), 6)
	_, packed = newTallier(tooMany[1:]).(*packedTally)
	assert.True(t, packed, "%d raters are not counted in words", len(tooMany)-1)
}

// All 27 ways to draw three of three raters give the shares of each rank by
// rising median exactly; the vector names its source.
func TestResamplingVectors(t *testing.T) {
	eachVector(t, "bootstrap_rank_exact", func(t *testing.T, c vectorCase) {
		var in struct {
			Ratings [][]float64 `json:"ratings_by_rater"`
		}
		var want struct {
			Shares [][]float64 `json:"prob_rank_by_item"`
		}
		c.read(t, &in, &want)
		s := importanceOnly(in.Ratings)

		exact := make([][]float64, len(want.Shares))
		for i := range exact {
			exact[i] = make([]float64, len(want.Shares))
		}
		r := newResampler(s, places(len(want.Shares)), make([]bool, len(want.Shares)), 1)
		draws := 0.0
		eachDraw(r, func() {
			draws++
			for item, rank := range ranksFromTop(r.importance.level) {
				exact[item][rank]++
			}
		})
		for item := range want.Shares {
			for rank, share := range want.Shares[item] {
				near(t, "share of all draws", exact[item][rank]/draws, share, c.Tolerance)
			}
		}

		const random = 20_000
		got := make([]float64, len(want.Shares))
		r.source.left = random
		for r.next(func() {
			for item, rank := range ranksFromTop(r.importance.level) {
				if rank == 0 {
					got[item]++
				}
			}
		}) {
		}
		for item := range got {
			p := want.Shares[item][0]
			near(t, "share of random draws at the top", got[item]/random, p, 4*math.Sqrt(p*(1-p)/random))
		}
	})
}

func importanceOnly(ratings [][]float64) *sheet {
	s := &sheet{columns: places(len(ratings[0]))}
	for _, row := range ratings {
		importance, evidence := make([]Rating, len(row)), make([]Rating, len(row))
		for i, v := range row {
			importance[i], evidence[i] = Rating(v), 5
		}
		s.scales[0], s.scales[1] = append(s.scales[0], importance), append(s.scales[1], evidence)
	}
	return s
}

// ranksFromTop ranks levels from 0 for the highest; equals share the best rank.
func ranksFromTop(levels []int32) []int {
	ranks := make([]int, len(levels))
	for i, level := range levels {
		for _, other := range levels {
			if other > level {
				ranks[i]++
			}
		}
	}
	return ranks
}

// eachDraw visits all ways to draw as many raters as there are.
func eachDraw(r *resampler, visit func()) {
	var pick func(left int)
	pick = func(left int) {
		if left == 0 {
			r.tallier.set(0, r.weights)
			r.tallier.tally(r.found[:1])
			r.read(0)
			r.arrange()
			visit()
			return
		}
		for rater := range r.weights {
			r.weights[rater]++
			pick(left - 1)
			r.weights[rater]--
		}
	}
	clear(r.weights)
	pick(len(r.weights))
}

// The shares that Score reports, against all 256 ways to draw four of four
// raters, each put into test order by the naive twin.
func TestResampledSharesAgainstAllDraws(t *testing.T) {
	table := Table{
		Raters:     []string{"a", "b", "c", "d"},
		IDs:        []string{"A1", "A2", "A3", "A4", "A5"},
		Importance: [][]Rating{{8, 3, 6, 5, 7}, {7, 4, 0, 5, 9}, {2, 9, 6, 6, 5}, {5, 5, 3, 1, 4}},
		Evidence:   [][]Rating{{2, 3, 6, 1, 5}, {4, 4, 7, 5, 0}, {3, 8, 2, 6, 5}, {9, 1, 6, 4, 2}},
	}
	s, whole := newSheet(table), naiveSpots(table, 0)
	r := newResampler(s, places(5), doubtsOf(whole), 1)
	top, draws := make([]float64, 5), 0.0
	eachDraw(r, func() {
		draws++
		spots := slices.Clone(whole)
		for i := range spots {
			spots[i].at.Importance, spots[i].lean.Importance = medianOrNone(naiveLevel(s.scales[0], r.weights, i))
			spots[i].at.Evidence, spots[i].lean.Evidence = medianOrNone(naiveLevel(s.scales[1], r.weights, i))
		}
		for _, i := range naiveOrder(spots)[:3] {
			top[i]++
		}
	})
	const random = 20_000
	result := Score(table, Options{Draws: random, Seed: 7})
	for i, a := range result.Assumptions {
		p := top[i] / draws
		assert.False(t, p < 0.02, "%s is in the top three in %v of all draws: too sure to test with", a.ID, p)
		assert.False(t, p > 0.98, "%s is in the top three in %v of all draws: too sure to test with", a.ID, p)
		near(t, "share of "+a.ID+" in the top three", float64(a.Top3), p, 4*math.Sqrt(p*(1-p)/random))
	}
}

func medianOrNone(level int32, lean float64) (float64, float64) {
	if level == 0 {
		return math.NaN(), 0
	}
	return float64(level) / 2, lean
}

func TestRankPoints(t *testing.T) {
	shares := &rankShares{draws: 100, items: 4, ranks: []int32{5, 0, 89, 6, 4, 1, 95, 0, 100, 0, 0, 0}}
	for _, test := range []struct {
		rule          string
		item, percent int
		want          Place
	}{
		{"exactly five percent is reached", 0, 5, 1},
		{"94 percent is not 95", 0, 95, 4},
		{"four percent is not five", 1, 5, 2},
		{"the highest rank that occurred", 1, 95, 3},
		{"always the same rank", 2, 95, 1},
	} {
		assert.Equal(t, test.want, shares.point(test.percent, test.item), "%s: %d%% point", test.rule, test.percent)
	}
	assert.True(t, shares.top(3, 0) == 0.94, "share in the top three")
	assert.True(t, (&rankShares{draws: 2, items: 1, ranks: []int32{2}}).top(3, 0) == 1, "share of the only item in the top three")
}

func TestADrawAllocatesNothing(t *testing.T) {
	for _, raters := range []int{25, packedMost + 1} {
		r := newResampler(newSheet(randomTable(raters, 40, 0.1)), places(40), make([]bool, 40), 1)
		r.source.left = 1_000_000
		visited := 0
		got := testing.AllocsPerRun(100, func() { r.next(func() { visited++ }) })
		assert.True(t, got == 0, "draws of %d raters allocate %v times, want 0", raters, got)
		assert.Positive(t, visited)
	}
}

// How many count at once changes nothing, nor does how many draws a table counts at once.
func TestSharesDoNotHangOnWhoCounts(t *testing.T) {
	const draws = 200 // more than are counted at once, and no multiple of these
	table := newSheet(randomTable(packedMost+7, 9, 0.2))
	alone := newResampler(table, places(9), make([]bool, 9), 5)
	want := alone.resample(draws)
	several := newResampler(table, places(9), make([]bool, 9), 5)
	got := several.resampleBy(draws, 5)
	assert.Equal(t, want, got)
	summed := int32(0)
	for _, n := range got.of(0) {
		summed += n
	}
	assert.Equal(t, int32(draws), summed)
}

// A column's counts in one word must not run into the next draw's.
func TestWideTallyHoldsAllOfItsRaters(t *testing.T) {
	ratings := make([][]Rating, wideMost)
	for i := range ratings {
		ratings[i] = []Rating{Rating(1 + 8*(i%2))}
	}
	tally := newWideTally(ratings)
	out := make([]reading, tally.draws())
	for draw := range out {
		weights := make([]int32, wideMost)
		weights[draw%2] = wideMost
		tally.set(draw, weights)
		out[draw] = medianReading(1)
	}
	tally.tally(out)
	for draw, got := range out {
		level := int32(2 + 16*(draw%2))
		assert.Equal(t, level, got.level[0], "draw %d", draw)
		assert.Equal(t, fineLevel(level, 0), got.fine[0], "draw %d", draw)
	}
	assert.Panics(t, func() { newWideTally(append(ratings, []Rating{1})) })
}

func TestSelectedAgainstSorting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.IntRange(0, 30), 1, 80).Draw(t, "values")
		k := rapid.IntRange(0, len(values)-1).Draw(t, "place")
		sorted := slices.Sorted(slices.Values(values))
		assert.Equal(t, sorted[k], selected(values, k))
		for i, v := range values {
			assert.True(t, i >= k || v <= values[k], "before the place")
			assert.True(t, i <= k || v >= values[k], "after the place")
		}
		assert.Equal(t, sorted, slices.Sorted(slices.Values(values)), "none is lost")
	})
}

// Each rater is drawn as often as any other.
func TestDrawsAreFair(t *testing.T) {
	r := newResampler(newSheet(randomTable(7, 1, 0)), places(1), []bool{false}, 3)
	const draws = 20_000
	var times [7]float64
	for range draws {
		r.draw()
		for rater, weight := range r.weights {
			times[rater] += float64(weight)
		}
	}
	for rater, got := range times {
		near(t, "share of draws of rater "+string(rune('1'+rater)), got/(7*draws), 1.0/7, 4*math.Sqrt(1.0/7*6/7/(7*draws)))
	}
}
