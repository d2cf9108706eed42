package engine

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestBinomialVectors(t *testing.T) {
	eachVector(t, "binomial_tail", func(t *testing.T, c vectorCase) {
		var in struct {
			K, N int
			P    float64
		}
		var want struct{ Tail float64 }
		c.read(t, &in, &want)
		near(t, "tail", binomialTail(in.K, in.N, in.P), want.Tail, c.Tolerance)
	})
}

func TestMixtureVectors(t *testing.T) {
	eachVector(t, "looks_mixture", func(t *testing.T, c vectorCase) {
		var in struct {
			K, N int
			P    float64
		}
		var want struct{ Ratio float64 }
		c.read(t, &in, &want)
		near(t, "ratio over what R has", mixture(in.K, in.N, in.P)/want.Ratio, 1, c.Tolerance)
	})
}

// The two tails are one distribution, whichever side is summed.
func TestBinomialTailsMakeAWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		whole := binomialTail(k, n, p) + binomialTail(n-k+1, n, 1-p)
		assert.InDelta(t, 1, whole, 1e-11, "P(X >= %d) + P(X < %d) of %d at %g", k, k, n, p)
	})
}

// What a plan says beforehand is what Judge says at its number.
func TestPlanSaysWhatJudgeWill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := TestPlan{N: rapid.IntRange(1, 200).Draw(t, "n"), Mark: float64(rapid.IntRange(1, 100).Draw(t, "mark")) / 100}
		k := rapid.IntRange(0, p.N).Draw(t, "k")
		want := NotClear
		switch {
		case k >= p.SupportFrom():
			want = Supported
		case k <= p.RefuteTo():
			want = Refuted
		}
		assert.Equal(t, want, p.Judge(k, p.N).Verdict, "%d of %+v", k, p)
		assert.Equal(t, want, Judge(k, p.N, p.Mark).Verdict, "%d of %+v", k, p)
	})
}

// The example that people read: 12 people and a mark of 60 percent.
func TestPlanOfTwelve(t *testing.T) {
	p := TestPlan{N: 12, Mark: 0.6}
	assert.Equal(t, 8, p.SupportFrom())
	assert.Equal(t, 3, p.RefuteTo())
	below, above := NearMark(0.6)
	assert.InDelta(t, 0.45, below, 1e-12)
	assert.InDelta(t, 0.75, above, 1e-12)
	assert.InDelta(t, 0.1117, p.Passes(below), 5e-5)      // R: 1 - pbinom(7, 12, 0.45)
	assert.InDelta(t, 1-0.8423563, p.Misses(above), 5e-7) // R: pbinom(7, 12, 0.75)
	size, err := MarkSize(0.6, below, above, OneInTen)
	require.NoError(t, err)
	assert.Equal(t, 19, size.N) // R: the first n with both 1 - pbinom(k-1, n, 0.45) and pbinom(k-1, n, 0.75) at most 0.1
}

func TestMarkSizeIsTheSmallest(t *testing.T) {
	for _, mark := range []float64{0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 1} {
		below, above := NearMark(mark)
		size, err := MarkSize(mark, below, above, OneInTen)
		require.NoError(t, err)
		for n := 1; n <= size.N; n++ {
			p := TestPlan{N: n, Mark: mark}
			good := p.Passes(below) <= OneInTen && p.Misses(above) <= OneInTen
			assert.Equal(t, n == size.N, good, "mark %g with %d", mark, n)
		}
	}
}

func TestPlanRefuses(t *testing.T) {
	for _, row := range []struct {
		mark         float64
		n            int
		below, above float64
	}{{0, 12, 0, 0}, {1.1, 12, 0, 0}, {0.6, -1, 0, 0}, {0.6, 12, 0.7, 0}, {0.6, 12, 0, 0.5}, {math.NaN(), 12, 0, 0}, {0.6, 12, math.NaN(), 0}, {0.6, 0, 0.5999, 0.6001}} {
		_, err := ReportMark(row.mark, row.n, row.below, row.above)
		assert.Error(t, err, "%+v", row)
	}
}

func TestJudgeBeforeThePlannedNumber(t *testing.T) {
	for _, row := range []struct {
		rule string
		plan TestPlan
		k, n int
		want Verdict
	}{
		{"half the planned number", TestPlan{N: 12, Mark: 0.6}, 6, 6, SoFar},
		{"nearly all of it, and the mark is met", TestPlan{N: 12, Mark: 0.6}, 9, 11, SoFar},
		{"the planned number", TestPlan{N: 12, Mark: 0.6}, 8, 12, Supported},
		{"more than it", TestPlan{N: 12, Mark: 0.6}, 18, 20, Supported},
		{"all of 12 is beyond chance", TestPlan{N: 30, Mark: 0.6}, 12, 12, Supported},
		{"none of 8 is, too", TestPlan{N: 30, Mark: 0.6}, 0, 8, Refuted},
		{"no number was planned", TestPlan{Mark: 0.6}, 9, 12, SoFar},
		{"nor here, and it is beyond chance", TestPlan{Mark: 0.6}, 12, 12, Supported},
		{"one that fails where all must pass", TestPlan{N: 10, Mark: 1}, 2, 3, Refuted},
		{"all must pass, and do so far", TestPlan{N: 10, Mark: 1}, 9, 9, SoFar},
		{"no mark", TestPlan{N: 10}, 3, 4, NotClear},
		{"all there are", TestPlan{N: 2, Mark: 1, Census: true}, 2, 2, Supported},
		{"one of two has answered", TestPlan{N: 2, Mark: 1, Census: true}, 1, 1, SoFar},
		{"one of two has said no", TestPlan{N: 2, Mark: 1, Census: true}, 0, 1, Refuted},
		{"enough of five have", TestPlan{N: 5, Mark: 0.6, Census: true}, 3, 3, Supported},
		{"two of five have", TestPlan{N: 5, Mark: 0.6, Census: true}, 2, 3, SoFar},
		{"there were more than five", TestPlan{N: 5, Mark: 0.6, Census: true}, 3, 8, Refuted},
	} {
		f := row.plan.Judge(row.k, row.n)
		assert.Equal(t, row.want, f.Verdict, "%s: %d of %d by %+v", row.rule, row.k, row.n, row.plan)
	}
}

// How often the bound is ever crossed, exactly, by a walk over all counts: with
// the truth on the mark, and a look after each single answer, in 5 of 100
// tests at most, however long they go on.
func TestEveryLookIsSafe(t *testing.T) {
	for _, mark := range []float64{0.05, 0.3, 0.5, 0.6, 0.8, 0.95} {
		passes, fails := everCrossed(400, mark)
		assert.LessOrEqual(t, passes, LookError, "false passes at a mark of %g", mark)
		assert.LessOrEqual(t, fails, LookError, "false fails at a mark of %g", mark)
		assert.Greater(t, passes+fails, 0.01, "a bound that is never crossed at a mark of %g is of no use", mark)
	}
}

// R walks over the same counts with pbeta in the place of the binomial sum.
func TestCrossingHeldToR(t *testing.T) {
	for _, row := range []struct {
		cases int
		mark  float64
		want  float64
	}{{12, 0.6, 0.010077696}, {60, 0.6, 0.0261821590717362}, {500, 0.6, 0.0363734859551686}, {500, 0.05, 0.0184825623006061}} {
		passes, _ := everCrossed(row.cases, row.mark)
		assert.InDelta(t, row.want, passes, 1e-9, "%d cases at a mark of %g", row.cases, row.mark)
	}
}

func everCrossed(cases int, mark float64) (passes, fails float64) {
	alive := []float64{1} // by k: the chance to be there, uncrossed
	for n := 1; n <= cases; n++ {
		next := make([]float64, n+1)
		for k, chance := range alive {
			next[k] += chance * (1 - mark)
			next[k+1] += chance * mark
		}
		for k := range next {
			switch crossed(k, n, mark) {
			case Supported:
				passes += next[k]
				next[k] = 0
			case Refuted:
				fails += next[k]
				next[k] = 0
			}
		}
		alive = next
	}
	return passes, fails
}

// Peeking at every week: whoever stops at the first count that meets the mark
// passes most tests of a truth that is only on it; before the planned number
// the plan passes 5 in 100 at most.
func TestPeekingEveryWeek(t *testing.T) {
	for _, row := range []struct {
		weeks, each int
		mark        float64
	}{{4, 3, 0.6}, {4, 5, 0.6}, {6, 10, 0.8}, {8, 5, 0.5}, {12, 5, 0.3}} {
		rnd := rand.New(rand.NewPCG(7, uint64(row.weeks*row.each)))
		plan := TestPlan{N: row.weeks * row.each, Mark: row.mark}
		const tests = 10_000
		peeked, passed := 0, 0
		for range tests {
			k, stopped, early := 0, false, false
			for week := 1; week < row.weeks; week++ { // the last week is the planned number
				for range row.each {
					if rnd.Float64() < row.mark {
						k++
					}
				}
				stopped = stopped || Judge(k, week*row.each, row.mark).Verdict == Supported
				early = early || plan.Judge(k, week*row.each).Verdict == Supported
			}
			if stopped {
				peeked++
			}
			if early {
				passed++
			}
		}
		name := fmt.Sprintf("%d weeks of %d at a mark of %g", row.weeks, row.each, row.mark)
		assert.LessOrEqual(t, float64(passed)/tests, LookError, name)
		assert.Greater(t, float64(peeked)/tests, 0.45, name)
		t.Logf("%s: %.3f by the mark alone, %.3f by the plan", name, float64(peeked)/tests, float64(passed)/tests)
	}
}
