package engine

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
)

// randomTable rates everything at random, with the given share of gaps.
func randomTable(raters, assumptions int, gaps float64) Table {
	rng := rand.New(rand.NewPCG(1, 2))
	rate := func() []Rating {
		row := make([]Rating, assumptions)
		for i := range row {
			if rng.Float64() >= gaps {
				row[i] = Rating(1 + rng.IntN(9))
			}
		}
		return row
	}
	var t Table
	for i := range assumptions {
		t.IDs = append(t.IDs, fmt.Sprintf("A%d", i+1))
	}
	for i := range raters {
		t.Raters = append(t.Raters, fmt.Sprintf("rater %d", i+1))
		t.Importance = append(t.Importance, rate())
		t.Evidence = append(t.Evidence, rate())
	}
	return t
}

// Quartiles of a million ratings, by counting and by sorting, in one run. The
// metric is how many times faster counting is; it should be 25 or more.
func BenchmarkQuartilesOfAMillion(b *testing.B) {
	ratings := randomTable(1, 1_000_000, 0).Importance[0]
	values := make([]float64, len(ratings))
	for i, r := range ratings {
		values[i] = float64(r)
	}
	sorted := make([]float64, len(values))
	var counting, sorting time.Duration
	for b.Loop() {
		start := time.Now()
		counts := CountRatings(ratings)
		got := [3]Figure{counts.Quantile(1, 4), counts.Quantile(1, 2), counts.Quantile(3, 4)}
		counted := time.Now()
		copy(sorted, values)
		slices.Sort(sorted)
		var want [3]Figure
		for i, p := range []float64{0.25, 0.5, 0.75} {
			want[i] = Figure(stat.Quantile(p, stat.Empirical, sorted, nil))
		}
		counting, sorting = counting+counted.Sub(start), sorting+time.Since(counted)
		require.Equal(b, want, got, "quartiles %v by counting, %v by sorting", got, want)
	}
	b.ReportMetric(float64(sorting)/float64(counting), "times-faster")
	b.ReportMetric(float64(counting.Nanoseconds())/float64(b.N), "ns-counting")
}

// Two thousand resamples of 40 assumptions by 25 raters, each put into full
// order: 10 ms at most on one core, and no allocation per draw.
func BenchmarkResampling2000Draws40By25(b *testing.B) {
	r := newResampler(newSheet(randomTable(25, 40, 0.1)), places(40), make([]bool, 40), 1)
	b.ReportAllocs()
	for b.Loop() {
		r.resample(defaultDraws)
	}
}

// Layers of ten thousand points, and of twice as many: the metric is how much
// longer those take, a little over 2 for O(n log n) and 4 for O(n²).
func BenchmarkLayersOfTenThousand(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 4))
	points := make([]Point, 20_000)
	for i := range points {
		points[i] = Point{rng.Float64(), rng.Float64()}
	}
	var once, twice time.Duration
	for b.Loop() {
		start := time.Now()
		Layers(points[:10_000])
		half := time.Now()
		Layers(points)
		once, twice = once+half.Sub(start), twice+time.Since(half)
	}
	b.ReportMetric(float64(once.Nanoseconds())/float64(b.N), "ns-10000")
	b.ReportMetric(float64(twice)/float64(once), "times-for-20000")
}

func BenchmarkScore500By1000(b *testing.B) {
	t := randomTable(500, 1000, 0.1)
	for b.Loop() {
		Score(t, Options{})
	}
}
