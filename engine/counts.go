package engine

import (
	"math"
	"slices"
)

// Counts says how often each rating was given: index 1 to 9 holds the number
// of raters who gave that rating, index 0 those who could not say. No figure
// depends on index 0.
//
// Nine counters hold all that the median, the quartiles and the percentiles of
// ratings need, so nothing is sorted and every figure is exact.
type Counts [10]int

// N is the number of ratings, without those who could not say.
func (c *Counts) N() int {
	n := 0
	for _, count := range c[1:] {
		n += count
	}
	return n
}

// Quantile is the type 7 quantile at the share num/den, which must lie within
// 0 to 1: Quantile(1, 4) is the lower quartile, Quantile(3, 10) the 30th
// percentile. It is undefined without ratings. See the function [Quantile] for
// the definition.
//
// The arithmetic is done in whole den-ths, so that 6.2 is 6.2 and not 6.199….
func (c *Counts) Quantile(num, den int) Figure {
	if c.N() == 0 {
		return Undefined()
	}
	return Figure(float64(c.quantile(num, den)) / float64(den))
}

// quantile is the quantile at num/den in units of 1/den. There must be ratings.
func (c *Counts) quantile(num, den int) int {
	h := (c.N() - 1) * num
	k, part := h/den, h%den
	low := c.at(k)
	if part == 0 {
		return low * den
	}
	return low*den + part*(c.at(k+1)-low)
}

// at is the rating at place k, counted from 0, when they stand in order.
func (c *Counts) at(k int) int {
	for r := 1; r < len(c); r++ {
		k -= c[r]
		if k < 0 {
			return r
		}
	}
	return 0 // nobody stands at k
}

// Spread summarises the ratings: the middle, the quartiles, and how far apart
// they lie.
func (c *Counts) Spread() Spread {
	s := Spread{N: c.N()}
	s.Median = c.Quantile(1, 2)
	s.Q1, s.Q3 = c.Quantile(1, 4), c.Quantile(3, 4)
	s.Lean = c.lean(s.Median)
	s.IQR = s.Q3 - s.Q1
	s.IPRLow, s.IPRHigh = c.Quantile(3, 10), c.Quantile(7, 10)
	s.IPRAS = ipras(s.IPRLow, s.IPRHigh)
	s.Disagreement = disagree(s.IPRLow, s.IPRHigh, s.IPRAS)
	s.Agreement = agreement(s)
	return s
}

// lean is the share of ratings above the median less the share below it. It
// tells equal medians apart and asks of the scale nothing but its order: the
// tie-break of the "typical judgment" (Fabre A. 2021, Tie-breaking the highest
// median, Social Choice and Welfare 56).
func (c *Counts) lean(median Figure) Figure {
	if c.N() == 0 {
		return Undefined()
	}
	above := 0
	for r, count := range c {
		switch {
		case r > 0 && Figure(r) < median:
			above -= count
		case Figure(r) > median:
			above += count
		}
	}
	return Figure(float64(above) / float64(c.N()))
}

// ipras is how wide the range between the 30th and the 70th percentile of
// ratings from 1 to 9 may be before it counts as disagreement: the
// interpercentile range adjusted for symmetry,
//
//	IPRAS = 2.35 + 1.5·|5 - (low+high)/2|
//
// It lies in 2.35 to 8.35: opinions at one end of the scale may spread more,
// since 7 and 9 are both high while 4 and 6 lean to different sides. It is
// undefined when low and high are.
//
// Source: Fitch K. et al. (2001), The RAND/UCLA Appropriateness Method User's
// Manual, RAND MR-1269. It does not say how the percentiles interpolate; type 7
// is our choice.
func ipras(low, high Figure) Figure {
	// Percentiles of ratings are whole tenths; in units of 1/200 the sum is
	// exact, and 5.35 is reported as 5.35.
	tenths := math.Round(10 * float64(low+high))
	return Figure((470 + 15*math.Abs(100-tenths)) / 200)
}

// tolerance separates a range that is wider than allowed from one that is
// exactly as wide as allowed and was bent by rounding: 1 2 3 3 4 4 4 4 7 7 8 9
// has a range of 2.8 and is allowed 2.8. The nearest true difference is 0.005.
const tolerance = 1e-9

// disagree is the rule of the RAND/UCLA manual: disagreement when the range
// from the 30th to the 70th percentile is wider than allowed, and not when it is
// just as wide. It reads the figures as they are reported, so that whoever
// repeats the sum comes to the same verdict.
func disagree(low, high, allowed Figure) bool {
	return high-low > allowed+tolerance
}

// agreement says in one word how far apart the ratings of s are:
//
//   - split on disagreement by the RAND/UCLA index, or when the interquartile
//     range exceeds 4, half the scale;
//   - close when the interquartile range is at most 2 (thresholds of 2 on
//     scales of about ten steps are usual in Delphi studies: von der Gracht
//     H.A. 2012, Technological Forecasting & Social Change 79(8), 1525-1536);
//   - mixed in between, and no word at all without ratings.
//
// The limit of 4 is common practice, without a source.
func agreement(s Spread) Agreement {
	switch {
	case s.N == 0:
		return ""
	case s.Disagreement || s.IQR > 4:
		return Split
	case s.IQR <= 2:
		return Close
	}
	return Mixed
}

// fewRatings is the number of ratings below which a figure is thin however
// few were asked.
const fewRatings = 3

// thin reports that n ratings of asked people are too few to lean on.
func thin(n, asked int) bool { return n < fewRatings || 2*n < asked }

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

// median is the value in the middle, or the mean of the two there; undefined
// without values. It moves values about.
func median(values []float64) Figure {
	if len(values) == 0 {
		return Undefined()
	}
	half := len(values) / 2
	upper := selected(values, half)
	if len(values)%2 == 1 {
		return Figure(upper)
	}
	return Figure(Quantile([]float64{slices.Max(values[:half]), upper}, 0.5))
}
