package engine

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSurveySizeVectors(t *testing.T) {
	eachVector(t, "sample_size_proportion", func(t *testing.T, c vectorCase) {
		var in struct {
			Confidence, Margin, P float64
			Population            int
		}
		var want struct {
			N0, N float64
			Ceil  int `json:"n_ceil"`
		}
		c.read(t, &in, &want)
		n := surveyRaw(in.Margin, in.Confidence, in.P)
		near(t, "n0", n, want.N0, c.Tolerance)
		if in.Population > 0 {
			n = finite(n, float64(in.Population))
		}
		near(t, "n", n, want.N, c.Tolerance)
		got, err := SurveySize(in.Margin, in.Confidence, in.P, in.Population)
		assert.NoError(t, err, "SurveySize")
		assert.Equal(t, want.Ceil, got.N, "SurveySize")
	})
}

// A textbook's example of the finite-population term on its own.
func TestFinitePopulationVectors(t *testing.T) {
	eachVector(t, "fpc", func(t *testing.T, c vectorCase) {
		var in struct{ N0, Population float64 }
		var want struct{ N float64 }
		c.read(t, &in, &want)
		near(t, "n", finite(in.N0, in.Population), want.N, c.Tolerance)
	})
}

// Without the finite-population term a survey of ten people would ask 385.
func TestFinitePopulationTermMatters(t *testing.T) {
	for population, want := range map[int]int{10: 10, 40: 37, 100: 80, 2000: 323, 0: 385} {
		got, err := SurveySize(0.05, 0.95, 0.5, population)
		assert.NoError(t, err, "SurveySize of a population of %d = %d, %v, want %d (Cochran 1977)", population, got.N, err, want)
		assert.Equal(t, want, got.N, "SurveySize of a population of %d = %d, %v, want %d (Cochran 1977)", population, got.N, err, want)
	}
}

// krejcieMorgan is the formula of Krejcie & Morgan (1970) with the rounded
// constant of its table, χ² = 3.841.
func krejcieMorgan(population, chi2, p, d float64) float64 {
	return finite(chi2*p*(1-p)/(d*d), population)
}

// The table is rounded to nearest; ours is rounded up, so it may ask one more.
func TestKrejcieMorganTable(t *testing.T) {
	eachVector(t, "krejcie_morgan_table", func(t *testing.T, c vectorCase) {
		var in struct {
			Populations []int
			Chi2, P, D  float64
		}
		var want struct {
			Sample []int
			Raw    []float64
		}
		c.read(t, &in, &want)
		for i, population := range in.Populations {
			checkKrejcieMorgan(t, population, want.Sample[i], want.Raw[i], c.Tolerance)
		}
	})
}

func TestKrejcieMorganRows(t *testing.T) {
	eachVector(t, "krejcie_morgan_row", func(t *testing.T, c vectorCase) {
		var in struct{ Population int }
		var want struct {
			Raw    float64
			Sample int
		}
		c.read(t, &in, &want)
		checkKrejcieMorgan(t, in.Population, want.Sample, want.Raw, c.Tolerance)
	})
}

func checkKrejcieMorgan(t *testing.T, population, sample int, raw, tolerance float64) {
	t.Helper()
	got := krejcieMorgan(float64(population), 3.841, 0.5, 0.05)
	near(t, "raw sample", got, raw, tolerance)
	assert.Equal(t, sample, int(math.Round(got)), "population %d: %g rounds to %v", population, got, math.Round(got))
	ours, err := SurveySize(0.05, 0.95, 0.5, population)
	assert.NoError(t, err, "SurveySize of a population of %d = %d, %v, want %d or one more", population, ours.N, err, sample)
	assert.False(t, ours.N != sample && ours.N != sample+1, "SurveySize of a population of %d = %d, %v, want %d or one more", population, ours.N, err, sample)
}

func TestSplitSizeVectors(t *testing.T) {
	eachVector(t, "sample_size_two_proportions", func(t *testing.T, c vectorCase) {
		var in struct{ P1, P2, Alpha, Power float64 }
		var want struct {
			N    float64 `json:"n_per_group"`
			Ceil int     `json:"n_per_group_ceil"`
		}
		c.read(t, &in, &want)
		near(t, "n", splitRaw(in.P1, in.P2-in.P1, in.Alpha, in.Power), want.N, c.Tolerance)
		got, err := SplitSize(in.P1, in.P2-in.P1, in.Alpha, in.Power)
		assert.NoError(t, err, "SplitSize")
		assert.Equal(t, want.Ceil, got.N, "SplitSize")
	})
}

// splitPower is how often n per arm notice the difference between p1 and p2:
// the formula of SplitSize, solved for the power.
func splitPower(n, p1, p2, alpha float64) float64 {
	mean := (p1 + p2) / 2
	reach := math.Sqrt(n)*math.Abs(p1-p2) - twoSidedZ(alpha)*math.Sqrt(2*mean*(1-mean))
	return normalCDF(reach / math.Sqrt(p1*(1-p1)+p2*(1-p2)))
}

func TestSplitPowerVectors(t *testing.T) {
	eachVector(t, "power_two_proportions", func(t *testing.T, c vectorCase) {
		var in struct {
			N             float64 `json:"n_per_group"`
			P1, P2, Alpha float64
		}
		var want struct{ Power float64 }
		c.read(t, &in, &want)
		near(t, "power", splitPower(in.N, in.P1, in.P2, in.Alpha), want.Power, c.Tolerance)
	})
}

// The size reaches the power asked for, and one fewer would not.
func TestSplitSizeIsTheLeastThatWillDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p1 := rapid.Float64Range(0.02, 0.98).Draw(t, "p1")
		p2 := rapid.Float64Range(0.02, 0.98).Filter(func(v float64) bool { return math.Abs(v-p1) > 0.005 }).Draw(t, "p2")
		alpha := rapid.Float64Range(0.001, 0.2).Draw(t, "alpha")
		power := rapid.Float64Range(0.3, 0.99).Draw(t, "power")
		got, err := SplitSize(p1, p2-p1, alpha, power)
		require.NoError(t, err)
		p := splitPower(float64(got.N), p1, p2, alpha)
		require.False(t, p < power-1e-9, "%d per arm have power %g, below %g", got.N, p, power)
		p = splitPower(float64(got.N-1), p1, p2, alpha)
		require.False(t, got.N > 1 && p > power+1e-9, "one fewer than %d per arm still has power %g, above %g", got.N, p, power)
	})
}

func TestDiscoveryVectors(t *testing.T) {
	eachVector(t, "problem_discovery", func(t *testing.T, c vectorCase) {
		var in struct {
			P float64
			N int
		}
		var want struct{ Found float64 }
		c.read(t, &in, &want)
		// Aiming at what n people find must ask for n people, and aiming a
		// hair higher for one more.
		for extra, target := range []float64{want.Found, want.Found + 1e-6} {
			got, err := DiscoverSize(in.P, target)
			assert.NoError(t, err, "DiscoverSize(%g, %.15g)", in.P, target)
			assert.Equal(t, in.N+extra, got.N, "DiscoverSize(%g, %.15g)", in.P, target)
		}
	})
}

func TestDiscoverSizeVectors(t *testing.T) {
	eachVector(t, "problem_discovery_n", func(t *testing.T, c vectorCase) {
		var in struct{ P, Target float64 }
		var want struct {
			Raw float64 `json:"n_raw"`
			N   int
		}
		c.read(t, &in, &want)
		near(t, "raw n", discoverRaw(in.P, in.Target), want.Raw, c.Tolerance)
		got, err := DiscoverSize(in.P, in.Target)
		assert.NoError(t, err, "DiscoverSize")
		assert.Equal(t, want.N, got.N, "DiscoverSize")
	})
}

// The naive twin adds people until the chance of a miss is small enough.
func TestDiscoverSizeAgreesWithCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0.01, 0.99).Draw(t, "share")
		target := rapid.Float64Range(0.01, 0.999).Draw(t, "target")
		want, missed := 0, 1.0
		for 1-missed < target-1e-12 {
			want, missed = want+1, missed*(1-share)
		}
		got, err := DiscoverSize(share, target)
		require.NoError(t, err, "DiscoverSize(%g, %g)", share, target)
		require.Equal(t, want, got.N, "DiscoverSize(%g, %g)", share, target)
	})
}

// A whole number must not be bumped to the next by the noise of arithmetic.
func TestSizesThatAreWhole(t *testing.T) {
	for _, row := range []struct {
		rule          string
		share, target float64
		want          int
	}{
		{"half, twice", 0.5, 0.75, 2},
		{"a tenth, three times", 0.1, 1 - 0.9*0.9*0.9, 3},
		{"a fifth, five times", 0.2, 1 - 0.8*0.8*0.8*0.8*0.8, 5},
		{"everyone", 1, 0.99, 1},
	} {
		got, err := DiscoverSize(row.share, row.target)
		assert.NoError(t, err, "%s: DiscoverSize", row.rule)
		assert.Equal(t, row.want, got.N, "%s: DiscoverSize", row.rule)
	}
	for population := 1; population <= 60; population++ {
		got, err := SurveySize(0.001, 0.95, 0.5, population)
		assert.NoError(t, err, "SurveySize of all %d = %d, %v: a narrow margin needs everyone and nobody twice", population, got.N, err)
		assert.Equal(t, population, got.N, "SurveySize of all %d = %d, %v: a narrow margin needs everyone and nobody twice", population, got.N, err)
	}
}

func TestSizesOnlyGrowWithWhatIsAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		margin := rapid.Float64Range(0.005, 0.4).Draw(t, "margin")
		confidence := rapid.Float64Range(0.5, 0.99).Draw(t, "confidence")
		population := rapid.IntRange(0, 5000).Draw(t, "population")
		loose, err1 := SurveySize(margin, confidence, 0.5, population)
		narrow, err2 := SurveySize(margin/2, confidence, 0.5, population)
		surer, err3 := SurveySize(margin, (1+confidence)/2, 0.5, population)
		require.NoError(t, err1)
		require.NoError(t, err2)
		require.NoError(t, err3)
		require.GreaterOrEqual(t, narrow.N, loose.N, "sizes %d, %d (half the margin), %d (surer) of %d", loose.N, narrow.N, surer.N, population)
		require.GreaterOrEqual(t, surer.N, loose.N, "sizes %d, %d (half the margin), %d (surer) of %d", loose.N, narrow.N, surer.N, population)
		require.False(t, population > 0 && narrow.N > population, "sizes %d, %d (half the margin), %d (surer) of %d", loose.N, narrow.N, surer.N, population)
	})
}

func TestSizesNameTheirSource(t *testing.T) {
	survey, _ := SurveySize(0.05, 0.95, 0.5, 0)
	small, _ := SurveySize(0.05, 0.95, 0.5, 100)
	split, _ := SplitSize(0.1, 0.02, 0.05, 0.8)
	discover, _ := DiscoverSize(0.31, 0.85)
	for _, row := range []struct{ source, author, formula string }{
		{survey.Source, "Cochran 1977", "n0 ="},
		{small.Source, "finite population", "(n0-1)/N"},
		{split.Source, "Fleiss, Tytun & Ury 1980", "no continuity correction"},
		{discover.Source, "Nielsen & Landauer 1993", "1-(1-p)^n"},
	} {
		assert.Contains(t, row.source, row.author, "source %q does not name %q and", row.source, row.author)
		assert.Contains(t, row.source, row.formula, "source %q does not name %q and", row.source, row.author)
	}
}

func TestSizesRefuseBadArguments(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	survey := func(margin, confidence, proportion float64, population int) error {
		_, err := SurveySize(margin, confidence, proportion, population)
		return err
	}
	split := func(base, lift, alpha, power float64) error {
		_, err := SplitSize(base, lift, alpha, power)
		return err
	}
	discover := func(share, target float64) error {
		_, err := DiscoverSize(share, target)
		return err
	}
	for _, row := range []struct {
		rule  string
		err   error
		names string
	}{
		{"margin 0", survey(0, 0.95, 0.5, 0), "margin must be above 0"},
		{"margin 1", survey(1, 0.95, 0.5, 0), "margin"},
		{"margin in percent", survey(5, 0.95, 0.5, 0), "margin"},
		{"margin NaN", survey(nan, 0.95, 0.5, 0), "margin"},
		{"confidence in percent", survey(0.05, 95, 0.5, 0), "confidence"},
		{"confidence 1", survey(0.05, 1, 0.5, 0), "confidence"},
		{"proportion 2", survey(0.05, 0.95, 2, 0), "proportion must be above 0 and below 1"},
		{"proportion 0", survey(0.05, 0.95, 0, 0), "proportion"},
		{"proportion infinite", survey(0.05, 0.95, inf, 0), "proportion"},
		{"population below 0", survey(0.05, 0.95, 0.5, -1), "population must be 0 (many) or more"},
		{"margin too narrow for this world", survey(1e-9, 0.95, 0.5, 0), "wider margin"},
		{"base 0", split(0, 0.1, 0.05, 0.8), "base"},
		{"base above 1", split(1.5, -0.6, 0.05, 0.8), "base"},
		{"base NaN", split(nan, 0.1, 0.05, 0.8), "base"},
		{"no lift", split(0.1, 0, 0.05, 0.8), "lift must be a number other than 0"},
		{"lift NaN", split(0.1, nan, 0.05, 0.8), "lift"},
		{"lift beyond everyone", split(0.95, 0.1, 0.05, 0.8), "base plus lift"},
		{"lift below nobody", split(0.05, -0.1, 0.05, 0.8), "base plus lift"},
		{"lift in percent", split(0.1, 2, 0.05, 0.8), "base plus lift"},
		{"alpha 0", split(0.1, 0.02, 0, 0.8), "alpha"},
		{"alpha too small to compute", split(0.1, 0.02, 1e-300, 0.8), "larger lift"},
		{"power 1", split(0.1, 0.02, 0.05, 1), "power"},
		{"power no better than chance", split(0.1, 0.02, 0.05, 0.05), "power must be above alpha"},
		{"power NaN", split(0.1, 0.02, 0.05, nan), "power"},
		{"lift too small for this world", split(0.5, 1e-9, 0.05, 0.8), "larger lift"},
		{"share 0", discover(0, 0.85), "share"},
		{"share above 1", discover(1.01, 0.85), "share"},
		{"target 1", discover(0.31, 1), "target"},
		{"target NaN", discover(0.31, nan), "target"},
		{"problem too rare for this world", discover(1e-12, 0.85), "more common problems"},
	} {
		t.Run(row.rule, func(t *testing.T) {
			require.Error(t, row.err, "error")
			require.Contains(t, row.err.Error(), row.names, "error")
			assert.False(t, strings.ContainsAny(row.err.Error(), "\n"), "error %q is more than one line", row.err)
		})
	}
}

// A lift may lead up to everyone or down to nobody; 0.7+0.3 misses 1 by a hair.
func TestSplitSizeUpToEveryone(t *testing.T) {
	for _, row := range []struct{ base, lift float64 }{{0.9, 0.1}, {0.7, 0.3}, {0.3, -0.3}, {0.15, -0.15}, {0.1, -0.1}} {
		_, err := SplitSize(row.base, row.lift, 0.05, 0.8)
		assert.NoError(t, err, "SplitSize(%g, %g)", row.base, row.lift)
	}
	up, _ := SplitSize(0.9, 0.1, 0.05, 0.8)
	down, _ := SplitSize(0.1, -0.1, 0.05, 0.8)
	assert.Equal(t, down.N, up.N, "90 to 100 percent takes %d and 10 to 0 percent %d per arm, want 74 both (R power.prop.test)", up.N, down.N)
	assert.Equal(t, 74, up.N, "90 to 100 percent takes %d and 10 to 0 percent %d per arm, want 74 both (R power.prop.test)", up.N, down.N)
}
