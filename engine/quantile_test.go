package engine

import (
	"encoding/json"
	"math"
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestQuantileVectors(t *testing.T) {
	checked := 0
	eachVector(t, "quantile", func(t *testing.T, c vectorCase) {
		var in struct {
			X    []*float64
			P    any
			Type int
		}
		var want struct{ Q any }
		c.read(t, &in, &want)
		if in.Type != 7 {
			t.Skip("another type, kept for comparison")
		}
		checked++
		checkQuantiles(t, present(in.X), numbers(in.P), numbers(want.Q), c.Tolerance)
	})
	assert.GreaterOrEqual(t, checked, 8, "cases of type 7")
}

func TestQuantileAllTypesVectors(t *testing.T) {
	eachVector(t, "quantile_all_types", func(t *testing.T, c vectorCase) {
		var in struct{ X, P []float64 }
		var want struct{ Type7 []float64 }
		c.read(t, &in, &want)
		checkQuantiles(t, in.X, in.P, want.Type7, c.Tolerance)

		// The same from counts, since these samples are ratings.
		var counts Counts
		for _, v := range in.X {
			counts[int(v)]++
		}
		for i, p := range in.P {
			num := int(math.Round(p * 20))
			near(t, "counted quantile", float64(counts.Quantile(num, 20)), want.Type7[i], c.Tolerance)
		}
	})
}

func checkQuantiles(t *testing.T, x, p, want []float64, tolerance float64) {
	t.Helper()
	slices.Sort(x)
	for i := range p {
		got := Quantile(x, p[i])
		if len(want) == 0 {
			assert.True(t, math.IsNaN(got), "Quantile(%v, %g) = %g, want NaN", x, p[i], got)
			continue
		}
		near(t, "quantile", got, want[i], tolerance)
	}
}

// present leaves out what is missing.
func present(x []*float64) []float64 {
	var values []float64
	for _, v := range x {
		if v != nil {
			values = append(values, *v)
		}
	}
	return values
}

// numbers reads one number, several, or null.
func numbers(v any) []float64 {
	switch v := v.(type) {
	case float64:
		return []float64{v}
	case []any:
		var list []float64
		for _, e := range v {
			list = append(list, e.(float64))
		}
		return list
	}
	return nil
}

func TestQuantileOutsideItsRange(t *testing.T) {
	for _, p := range []float64{-0.1, 1.1, math.NaN()} {
		got := Quantile([]float64{1, 2}, p)
		assert.True(t, math.IsNaN(got), "Quantile at %g = %g, want NaN", p, got)
	}
	assert.True(t, Quantile([]float64{1, math.Inf(1)}, 0) == 1, "Quantile at 0 beside an infinite value")
}

// The naive twin of Counts sorts, and places the quantile with fractions.
func exactQuantile(ratings []int, num, den int64) float64 {
	slices.Sort(ratings)
	h := big.NewRat(int64(len(ratings)-1)*num, den)
	k := new(big.Int).Quo(h.Num(), h.Denom()).Int64()
	part := new(big.Rat).Sub(h, big.NewRat(k, 1))
	q := big.NewRat(int64(ratings[k]), 1)
	if part.Sign() > 0 {
		q.Add(q, part.Mul(part, big.NewRat(int64(ratings[k+1]-ratings[k]), 1)))
	}
	v, _ := q.Float64()
	return v
}

func TestCountsAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ratings := rapid.SliceOfN(rapid.IntRange(1, 9), 1, 60).Draw(t, "ratings")
		silent := rapid.IntRange(0, 5).Draw(t, "silent")
		share := rapid.SampledFrom([][2]int{{1, 2}, {1, 4}, {3, 4}, {3, 10}, {7, 10}, {0, 1}, {1, 1}}).Draw(t, "share")
		counts := CountRatings(append(make([]Rating, silent), toRatings(ratings)...))
		want := exactQuantile(ratings, int64(share[0]), int64(share[1]))
		got := counts.Quantile(share[0], share[1])
		assert.True(t, float64(got) == want, "quantile %v of %v = %v, want exactly", share, ratings, got)
	})
}

func TestFiguresOfRatingsPrintAsTheyAre(t *testing.T) {
	counts := CountRatings([]Rating{2, 8})
	got, err := json.Marshal(counts.Spread())
	require.NoError(t, err)
	want := `{"n":2,"median":5,"q1":3.5,"q3":6.5,"lean":0,"iqr":3,"ipr_low":3.8,"ipr_high":6.2,"ipras":2.35,"disagreement":true,"agreement":"split"}`
	assert.Equal(t, want, string(got), "spread of 2 and 8:\n got %s\nwant", got)
}

func TestCountRatings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ratings := toRatings(rapid.SliceOfN(rapid.IntRange(0, 9), 0, 30).Draw(t, "ratings"))
		var want Counts
		for _, r := range ratings {
			want[r]++
		}
		got := CountRatings(ratings)
		assert.Equal(t, want, got, "CountRatings(%v)", ratings)
		assert.Equal(t, len(ratings)-want[0], got.N(), "N() of %v", ratings)
	})
}

func toRatings(values []int) []Rating {
	ratings := make([]Rating, len(values))
	for i, v := range values {
		ratings[i] = Rating(v)
	}
	return ratings
}

// CountRatings counts ratings, which must be 0 to 9.
func CountRatings(ratings []Rating) Counts {
	var c Counts
	for _, r := range ratings {
		c[r]++
	}
	return c
}
