package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"
)

func TestKendallVectors(t *testing.T) {
	eachVector(t, "kendall_w", func(t *testing.T, c vectorCase) {
		var in struct {
			Ballots [][]float64 `json:"ratings_by_rater"`
		}
		var want struct {
			W, Chi2, P  *float64
			DF          *int
			Uncorrected *float64 `json:"W_uncorrected"`
			Spearman    *float64
			Undefined   bool
		}
		c.read(t, &in, &want)
		got := Kendall(in.Ballots)
		if want.Undefined || len(in.Ballots) < 2 {
			// One ballot has formally W = 1, and says nothing.
			assert.False(t, got.W.Defined(), "Kendall = %+v, want no values", got)
			assert.False(t, got.Chi2.Defined(), "Kendall = %+v, want no values", got)
			assert.False(t, got.P.Defined(), "Kendall = %+v, want no values", got)
			return
		}
		nearIfGiven(t, "W", float64(got.W), want.W, c.Tolerance)
		nearIfGiven(t, "chi-square", float64(got.Chi2), want.Chi2, c.Tolerance)
		nearIfGiven(t, "p", float64(got.P), want.P, c.Tolerance)
		if want.DF != nil {
			assert.Equal(t, *want.DF, got.DF, "degrees of freedom")
		}
		nearIfGiven(t, "W without correction", withoutCorrection(in.Ballots), want.Uncorrected, c.Tolerance)
		if want.Spearman != nil {
			near(t, "(1 + Spearman's rho)/2", float64(got.W), (1+*want.Spearman)/2, c.Tolerance)
		}
	})
}

func nearIfGiven(t *testing.T, what string, got float64, want *float64, tolerance float64) {
	t.Helper()
	if want != nil {
		near(t, what, got, *want, tolerance)
	}
}

func withoutCorrection(ballots [][]float64) float64 {
	var r rankSums
	for _, b := range ballots {
		r.add(b)
	}
	r.ties = 0
	return r.concordance()
}

func TestKendallFromRankSumsVectors(t *testing.T) {
	eachVector(t, "kendall_w_from_rank_sums", func(t *testing.T, c vectorCase) {
		var in struct {
			Sums   []float64 `json:"rank_sums"`
			Raters int
		}
		var want struct {
			W float64 `json:"W_uncorrected"`
		}
		c.read(t, &in, &want)
		r := rankSums{ballots: in.Raters}
		for _, sum := range in.Sums {
			r.twice = append(r.twice, int(2*sum))
		}
		near(t, "W", r.concordance(), want.W, c.Tolerance)
	})
}

// Equal ballots agree wholly, also where they tie items. Without the tie
// correction W would be 0.9 here.
func TestKendallCorrectsForTies(t *testing.T) {
	ballot := []float64{5, 5, 3, 1}
	assert.True(t, Kendall([][]float64{ballot, ballot, ballot}).W == 1, "W of three equal ballots with a tie")
}

func TestKendallLeavesIncompleteBallotsOut(t *testing.T) {
	gap := math.NaN()
	full := [][]float64{{1, 2, 3}, {3, 1, 2}}
	want := Kendall(full)
	want.LeftOut = 2
	assert.Equal(t, want, Kendall([][]float64{full[0], {gap, 1, 2}, full[1], {gap, gap, gap}}), "with incomplete ballots")
	got := Kendall([][]float64{full[0], {gap, 1, 2}})
	assert.False(t, got.W.Defined(), "one complete ballot: %+v, want no W", got)
	assert.Equal(t, 1, got.Ballots, "one complete ballot: %+v, want no W", got)
	assert.Equal(t, 1, got.LeftOut, "one complete ballot: %+v, want no W", got)
	assert.Equal(t, 2, got.DF, "one complete ballot: %+v, want no W", got)
	got = Kendall(nil)
	assert.False(t, got.W.Defined(), "no ballots: %+v, want no W", got)
	assert.Equal(t, 0, got.DF, "no ballots: %+v, want no W", got)
}

// The naive twin finds each rank by comparing with every other item.
func naiveKendall(ballots [][]float64) float64 {
	m, n := float64(len(ballots)), float64(len(ballots[0]))
	sums := make([]float64, len(ballots[0]))
	ties := 0.0
	for _, b := range ballots {
		for i, v := range b {
			less, equal := 0.0, 0.0
			for _, other := range b {
				if other < v {
					less++
				}
				if other == v {
					equal++
				}
			}
			sums[i] += less + (equal+1)/2
			ties += equal*equal - 1 // a group of t counts t times: t³-t
		}
	}
	s := 0.0
	for _, sum := range sums {
		s += (sum - m*(n+1)/2) * (sum - m*(n+1)/2)
	}
	return 12 * s / (m*m*(n*n*n-n) - m*ties)
}

func TestKendallAgainstItsTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := rapid.IntRange(1, 8).Draw(t, "items")
		ballot := rapid.SliceOfN(rapid.Map(rapid.IntRange(1, 5), func(v int) float64 { return float64(v) }), items, items)
		ballots := rapid.SliceOfN(ballot, 2, 8).Draw(t, "ballots")
		got, want := float64(Kendall(ballots).W), naiveKendall(ballots)
		assert.Equal(t, math.IsNaN(want), math.IsNaN(got), "W = %v, want %v", got, want)
		assert.False(t, math.Abs(got-want) > 1e-12, "W = %v, want %v", got, want)
		assert.False(t, got < 0, "W")
		assert.False(t, got > 1, "W")
	})
}

func TestChiSquareTail(t *testing.T) {
	for _, test := range []struct {
		rule string
		x    float64
		df   int
		want float64
	}{
		{"nothing lies below 0", 0, 3, 1},
		{"two degrees are exponential", 3, 2, math.Exp(-1.5)},
		{"one degree is a squared normal: 1.96² leaves five percent", 3.841458820694124, 1, 0.05},
		{"far out it vanishes", 5000, 9, 0},
		{"near 0 with many degrees it is all", 1e-3, 999, 1},
	} {
		near(t, test.rule, chiSquareTail(test.x, test.df), test.want, 1e-15)
	}
}

// Rounding must not lift a share above 1.
func TestChiSquareTailIsAShare(t *testing.T) {
	for df := 1; df <= 400; df++ {
		for _, x := range []float64{1e-9, 0.01, 0.5, 1, float64(df) / 4, float64(df) / 2} {
			got := chiSquareTail(x, df)
			assert.True(t, got >= 0 && got <= 1, "tail of chi-square(%d) above %g = %.17g, want 0 to 1", df, x, got)
		}
	}
}

// Checked against the incomplete gamma function of gonum, which follows Cephes.
func TestChiSquareTailAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		df := rapid.IntRange(1, 2000).Draw(t, "df")
		x := float64(df) * rapid.Float64Range(0.01, 4).Draw(t, "x/df")
		got, want := chiSquareTail(x, df), mathext.GammaIncRegComp(float64(df)/2, x/2)
		assert.False(t, math.Abs(got-want) > 1e-11*want+1e-300, "tail of chi-square(%d) above %g = %.17g, want %.17g", df, x, got, want)
	})
}
