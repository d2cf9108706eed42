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
