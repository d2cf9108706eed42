package engine

import (
	"math"
	"slices"
)

// Quantile is the value below which the share p of a sample lies, by linear
// interpolation between its sorted values: Hyndman & Fan's type 7, the default
// of R and NumPy and the "inclusive" quartile of spreadsheets.
//
// With n values x[0] ≤ … ≤ x[n-1], h = (n-1)p and k = ⌊h⌋ it is
// x[k] + (h-k)(x[k+1] - x[k]). It is NaN for an empty sample and for p outside
// 0 to 1. Source: Hyndman R.J. & Fan Y. (1996), Sample quantiles in
// statistical packages, The American Statistician 50(4), 361-365.
//
// For ratings, [Counts.Quantile] gives the same without sorting, and exactly.
func Quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 || !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	whole, part := math.Modf(float64(len(sorted)-1) * p)
	k := int(whole)
	if part == 0 {
		return sorted[k]
	}
	return sorted[k] + part*(sorted[k+1]-sorted[k])
}

// median sorts values and gives the one in the middle, or the mean of the two
// there; undefined without values.
func median(values []float64) Figure {
	slices.Sort(values)
	return Figure(Quantile(values, 0.5))
}
