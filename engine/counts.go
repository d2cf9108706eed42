package engine

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
	s.IQR = s.Q3 - s.Q1
	s.IPRLow, s.IPRHigh = c.Quantile(3, 10), c.Quantile(7, 10)
	s.IPRAS = ipras(s.IPRLow, s.IPRHigh)
	s.Disagreement = disagree(s.IPRLow, s.IPRHigh, s.IPRAS)
	s.Agreement = agreement(s)
	return s
}
