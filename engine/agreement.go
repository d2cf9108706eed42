package engine

import "math"

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
