package engine

import "math"

// Wilson gives the score interval for the true share, of which k of n cases
// are a sample: both ends lie in 0 to 1.
//
// With p = k/n and z for the confidence (0.95 gives 1.96), the centre is
// (p + z²/2n)/(1 + z²/n) and the half-width z·√(p(1-p)/n + z²/4n²)/(1 + z²/n)
// (Wilson E.B. 1927; method 3 of Newcombe R.G. 1998, Statistics in Medicine
// 17, 857-872). Unlike the textbook p ± z·√(p(1-p)/n) it stays sensible for
// few cases, and for none or all of them.
//
// Without cases, or with a k that n cases cannot hold, nothing is known: the
// interval is 0 to 1. A confidence outside 0 to 1 has no interval; both ends
// are NaN.
func Wilson(k, n int, confidence float64) (low, high float64) {
	if n <= 0 || k < 0 || k > n {
		return 0, 1
	}
	if !(confidence > 0 && confidence < 1) {
		return math.NaN(), math.NaN()
	}
	z := twoSidedZ(1 - confidence)
	p, cases := float64(k)/float64(n), float64(n)
	widen := 1 + z*z/cases
	centre := (p + z*z/(2*cases)) / widen
	half := z * math.Sqrt(p*(1-p)/cases+z*z/(4*cases*cases)) / widen
	return wilsonLow(k, centre-half), wilsonHigh(k, n, centre+half)
}

// wilsonLow and wilsonHigh say exactly 0 and 1 where the formula does and
// rounding does not.
func wilsonLow(k int, v float64) float64 {
	if k == 0 {
		return 0
	}
	return v
}

func wilsonHigh(k, n int, v float64) float64 {
	if k == n {
		return 1
	}
	return v
}
