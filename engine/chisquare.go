package engine

import "math"

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
