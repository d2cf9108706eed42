package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestWilsonVectors(t *testing.T) {
	eachVector(t, "wilson", func(t *testing.T, c vectorCase) {
		var in struct {
			K, N       int
			Confidence float64
		}
		var want struct{ Low, High float64 }
		c.read(t, &in, &want)
		low, high := Wilson(in.K, in.N, in.Confidence)
		near(t, "low", low, want.Low, c.Tolerance)
		near(t, "high", high, want.High, c.Tolerance)
	})
}

// The interval holds exactly those shares q whose score test does not reject
// k of n: |k/n - q| = z·√(q(1-q)/n) at both ends.
func TestWilsonEndsSolveTheScoreTest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 500).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		confidence := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		low, high := Wilson(k, n, confidence)
		p, z := float64(k)/float64(n), twoSidedZ(1-confidence)
		require.True(t, 0 <= low && low <= p && p <= high && high <= 1, "Wilson(%d, %d) = %g to %g, without %g", k, n, low, high, p)
		for _, q := range []float64{low, high} {
			if q == 0 || q == 1 {
				continue // the end of the scale, which k of 0 or n reaches
			}
			got := math.Abs(p-q) - z*math.Sqrt(q*(1-q)/float64(n))
			require.False(t, math.Abs(got) > 1e-9, "Wilson(%d, %d): end %g misses the score test by %g", k, n, q, got)
		}
	})
}

func TestWilsonMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		low, high := Wilson(k, n, 0.95)
		lowOf, highOf := Wilson(n-k, n, 0.95)
		require.False(t, math.Abs(low-(1-highOf)) > 1e-12, "%d of %d is %g to %g, its mirror %g to %g", k, n, low, high, lowOf, highOf)
		require.False(t, math.Abs(high-(1-lowOf)) > 1e-12, "%d of %d is %g to %g, its mirror %g to %g", k, n, low, high, lowOf, highOf)
	})
}

func TestWilsonKnowsNothing(t *testing.T) {
	for _, row := range []struct {
		rule string
		k, n int
	}{{"no cases", 0, 0}, {"more than all", 3, 2}, {"fewer than none", -1, 2}, {"cases below none", 0, -1}} {
		low, high := Wilson(row.k, row.n, 0.95)
		assert.True(t, low == 0, "%s: %g to", row.rule, low)
		assert.True(t, high == 1, "%s: %g to", row.rule, low)
	}
	low, high := Wilson(1, 2, 1)
	assert.True(t, math.IsNaN(low), "confidence 1: %g to %g, want NaN", low, high)
	assert.True(t, math.IsNaN(high), "confidence 1: %g to %g, want NaN", low, high)
}

func TestJudge(t *testing.T) {
	tenth := 0.1 // a variable, lest the compiler sum exactly
	for _, row := range []struct {
		rule   string
		k, n   int
		mark   float64
		want   Verdict
		narrow bool
	}{
		{"well above the mark", 19, 20, 0.6, Supported, false},
		{"above the mark, chance could have lifted it", 9, 12, 0.6, Supported, true},
		{"exactly the mark counts", 6, 10, 0.6, Supported, true},
		{"a mark that was computed is met", 3, 10, tenth + 2*tenth, Supported, true},
		{"all of everyone", 12, 12, 1, Supported, true},
		{"below the mark, chance could have lowered it", 5, 12, 0.6, NotClear, false},
		{"one below all", 11, 12, 1, Refuted, false},
		{"far below the mark", 2, 20, 0.6, Refuted, false},
		{"none of a few", 0, 2, 0.3, NotClear, false},
		{"none of many", 0, 20, 0.3, Refuted, false},
		{"no cases", 0, 0, 0.6, NotClear, false},
		{"more than all", 5, 4, 0.6, NotClear, false},
		{"no mark", 5, 5, 0, NotClear, false},
		{"a mark in percent", 5, 5, 60, NotClear, false},
		{"no sensible mark", 5, 5, math.NaN(), NotClear, false},
	} {
		got := Judge(row.k, row.n, row.mark)
		assert.Equal(t, row.want, got.Verdict, "%s: %d of %d against %g is %q (narrow %v, %.3f to %.3f)", row.rule, row.k, row.n, row.mark, got.Verdict, got.Narrow, got.Low, got.High)
		assert.Equal(t, row.narrow, got.Narrow, "%s: %d of %d against %g is %q (narrow %v, %.3f to %.3f)", row.rule, row.k, row.n, row.mark, got.Verdict, got.Narrow, got.Low, got.High)
	}
}

// A further case in favour never makes a verdict worse.
func TestJudgeIsMonotone(t *testing.T) {
	rank := map[Verdict]int{Refuted: 0, NotClear: 1, Supported: 2}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 200).Draw(t, "n")
		k := rapid.IntRange(0, n-1).Draw(t, "k")
		mark := rapid.Float64Range(0.01, 1).Draw(t, "mark")
		a, b := Judge(k, n, mark), Judge(k+1, n, mark)
		require.LessOrEqual(t, rank[a.Verdict], rank[b.Verdict], "%d of %d is %q, one more %q", k, n, a.Verdict, b.Verdict)
	})
}
