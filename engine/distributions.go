package engine

import "math"

// normalCDF is the share of the standard normal distribution that lies below
// x: erfc(-x/√2)/2, which keeps its digits far out in the lower tail.
func normalCDF(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// normalQuantile is the inverse of normalCDF: the x below which the share p
// lies, for p strictly between 0 and 1.
//
// √2·erfinv(2p-1) alone loses digits where p is small, because 2p-1 does. A few
// Newton steps against the exact lower tail bring them back, and the upper
// half follows by symmetry.
func normalQuantile(p float64) float64 {
	if p > 0.5 {
		return -normalQuantile(1 - p)
	}
	x := math.Sqrt2 * math.Erfinv(2*p-1)
	if math.IsInf(x, 0) {
		return x
	}
	for range 4 {
		x -= (normalCDF(x) - p) / normalDensity(x)
	}
	return x
}

func normalDensity(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// twoSidedZ is the z beyond which, on both sides together, the share outside
// of the standard normal distribution lies: 1.96 for 0.05.
func twoSidedZ(outside float64) float64 { return -normalQuantile(outside / 2) }

// chiSquareTail is the share of the chi-square distribution with df degrees of
// freedom that lies above x: the regularised upper incomplete gamma function
// Q(df/2, x/2). df must be 1 or more.
//
// For whole df it is a finite sum of positive terms, without cancellation.
// With y = x/2, a rising by 1 from 1 or 1/2 to df/2,
//
//	Q(1, y) = exp(-y)   Q(1/2, y) = erfc(√y)
//	Q(a+1, y) = Q(a, y) + y^a·exp(-y)/Γ(a+1)
//
// (Abramowitz M. & Stegun I.A. 1964, Handbook of Mathematical Functions, 6.5.21
// and 26.4.4-5.)
func chiSquareTail(x float64, df int) float64 {
	if x <= 0 {
		return 1
	}
	y := x / 2
	a, tail := 1.0, math.Exp(-y)
	if df%2 == 1 {
		a, tail = 0.5, math.Erfc(math.Sqrt(y))
	}
	for ; a < float64(df)/2; a++ {
		tail += gammaTerm(a, y)
	}
	return min(tail, 1)
}

// gammaTerm is y^a·exp(-y)/Γ(a+1), in logarithms since its parts overflow.
func gammaTerm(a, y float64) float64 {
	logGamma, _ := math.Lgamma(a + 1)
	return math.Exp(a*math.Log(y) - y - logGamma)
}

// binomialTail is the share of the binomial distribution of n cases with the
// true share p that lies at k or above. It sums the side that is smaller, from
// the term at its edge outwards, until a term adds nothing.
func binomialTail(k, n int, p float64) float64 {
	switch {
	case k <= 0:
		return 1
	case k > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	case float64(k) <= float64(n)*p:
		return 1 - binomialTail(n-k+1, n, 1-p)
	}
	term := math.Exp(binomialLog(k, n, p))
	sum, odds := 0.0, p/(1-p)
	for i := k; i <= n && term > sum*1e-17; i++ {
		sum += term
		term *= float64(n-i) / float64(i+1) * odds
	}
	return min(sum, 1)
}

// binomialLog is the logarithm of the chance of exactly k of n, for p strictly
// between 0 and 1.
func binomialLog(k, n int, p float64) float64 {
	all, _ := math.Lgamma(float64(n + 1))
	in, _ := math.Lgamma(float64(k + 1))
	out, _ := math.Lgamma(float64(n - k + 1))
	return all - in - out + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p)
}
