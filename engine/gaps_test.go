package engine

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

func TestConcordanceWithGapsVectors(t *testing.T) {
	eachVector(t, "kendall_w_gaps", func(t *testing.T, c vectorCase) {
		var in struct {
			Ballots [][]Rating `json:"ratings_by_rater"`
		}
		var want struct{ W float64 }
		c.read(t, &in, &want)
		w, _ := concordGaps(in.Ballots)
		near(t, "W", w, want.W, c.Tolerance)
	})
}

// Where nothing is missing and nothing tied, it is Kendall's W.
func TestConcordanceWithoutGapsIsKendalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raters, items := rapid.IntRange(2, 8).Draw(t, "raters"), rapid.IntRange(2, 9).Draw(t, "items")
		var rows [][]Rating
		var ballots [][]float64
		for i := range raters {
			row, ballot := make([]Rating, items), make([]float64, items)
			for j, place := range rand.New(rand.NewPCG(uint64(i), rapid.Uint64().Draw(t, "seed"))).Perm(items) {
				row[j], ballot[j] = Rating(place+1), float64(place+1)
			}
			rows, ballots = append(rows, row), append(ballots, ballot)
		}
		w, n := concordGaps(rows)
		require.Equal(t, raters, n)
		assert.InDelta(t, float64(Kendall(ballots).W), w, 1e-9)
	})
}

func TestConcordanceWithGapsUndefined(t *testing.T) {
	for _, row := range []struct {
		rule string
		rows [][]Rating
	}{
		{"nobody", nil},
		{"one ballot", [][]Rating{{1, 2, 3}}},
		{"nothing in common", [][]Rating{{1, 2, 0, 0}, {0, 0, 1, 2}}},
		{"one rating each", [][]Rating{{1, 0}, {0, 1}, {2, 0}}},
	} {
		w, _ := concordGaps(row.rows)
		assert.True(t, math.IsNaN(w), "%s: %g", row.rule, w)
	}
}

// Score gives it beside W, over all ballots, only where some have gaps.
func TestScoreCountsBallotsWithGaps(t *testing.T) {
	table := Table{Raters: []string{"ana", "tui", "kofi", "noor"}, IDs: []string{"A1", "A2", "A3"},
		Importance: [][]Rating{{8, 5, 0}, {7, 0, 9}, {0, 4, 8}, {9, 6, 9}}, Evidence: [][]Rating{{2, 3, 4}, {2, 3, 4}, {2, 3, 4}, {2, 3, 4}}}
	c := Score(table, Options{Draws: 1}).Concordance
	assert.False(t, c.Importance.W.Defined(), "one complete ballot")
	assert.InDelta(t, 0.777777777777778, float64(c.Importance.WAll), 1e-12)
	assert.Equal(t, 4, c.Importance.BallotsAll)
	assert.InDelta(t, 1, float64(c.Evidence.WAll), 1e-12)
	assert.Equal(t, 4, c.Evidence.BallotsAll)
}

// A round of before has no such figure, and 0 would be one.
func TestOldConcordanceHasNoFigureForGaps(t *testing.T) {
	var c Concordance
	require.NoError(t, json.Unmarshal([]byte(`{"w":0.8,"chi2":4,"df":2,"p":0.1,"ballots":5,"left_out":0}`), &c))
	assert.False(t, c.WAll.Defined())
	assert.Equal(t, 5, c.Ballots)
}

// The naive twin takes pairs of ballots one by one, and the ranks of what both rated as
// fractions of the whole.
func naiveConcordGaps(rows [][]Rating) (w float64) {
	sum, weights, ratings, rated := 0.0, 0.0, 0, map[int]bool{}
	var kept [][]Rating
	for _, row := range rows {
		n := 0
		for _, r := range row {
			if r != 0 {
				n++
			}
		}
		if n < 2 {
			continue
		}
		kept, ratings = append(kept, row), ratings+n
		for i, r := range row {
			if r != 0 {
				rated[i] = true
			}
		}
	}
	for i, a := range kept {
		for _, b := range kept[:i] {
			var x, y []float64
			for item := range a {
				if a[item] != 0 && b[item] != 0 {
					x, y = append(x, float64(a[item])), append(y, float64(b[item]))
				}
			}
			if len(x) > 1 {
				sum += naiveSpearman(x, y) * float64(len(x)-1)
				weights += float64(len(x) - 1)
			}
		}
	}
	k := float64(ratings) / float64(len(rated))
	if weights == 0 || k <= 1 {
		return math.NaN()
	}
	return min(1, max(0, (1+sum/weights*(k-1))/k))
}

func naiveSpearman(x, y []float64) float64 {
	rho := stat.Correlation(naiveRanks(x), naiveRanks(y), nil)
	if math.IsNaN(rho) {
		return 0 // one of the two ties all
	}
	return rho
}

func naiveRanks(values []float64) []float64 {
	ranks := make([]float64, len(values))
	for i, v := range values {
		for _, other := range values {
			switch {
			case other < v:
				ranks[i]++
			case other == v:
				ranks[i] += 0.5
			}
		}
	}
	return ranks
}

// More items than a counter holds, more ballots than are counted at once, and ballots
// that rate little or all alike.
func TestConcordanceWithGapsAgainstItsTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := rapid.SampledFrom([]int{1, 2, 3, 9, 40, 300}).Draw(t, "items")
		most := rapid.SampledFrom([]int{1, 2, 9}).Draw(t, "highest rating")
		gaps := rapid.SampledFrom([]float64{0, 0.1, 0.9}).Draw(t, "gaps")
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		rows := make([][]Rating, rapid.IntRange(1, 20).Draw(t, "ballots"))
		for i := range rows {
			rows[i] = make([]Rating, items)
			for item := range rows[i] {
				if random.Float64() >= gaps {
					rows[i][item] = Rating(1 + random.IntN(most))
				}
			}
		}
		want := naiveConcordGaps(rows)
		got, _ := concordGaps(rows)
		if math.IsNaN(want) {
			assert.True(t, math.IsNaN(got), "%g", got)
		} else {
			assert.InDelta(t, want, got, 1e-9)
		}
	})
}
