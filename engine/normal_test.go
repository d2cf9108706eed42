package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Values of the standard normal distribution as its tables print them, to
// their last digit (computed: R 4.2.2 qnorm, from memory of the same digits).
func TestNormalQuantileTable(t *testing.T) {
	for _, row := range []struct{ p, z float64 }{
		{0.5, 0},
		{0.8, 0.8416212335729143},
		{0.9, 1.2815515655446004},
		{0.95, 1.6448536269514722},
		{0.975, 1.959963984540054},
		{0.995, 2.5758293035489004},
		{0.9995, 3.2905267314919255},
	} {
		near(t, "normalQuantile", normalQuantile(row.p), row.z, 1e-13)
		near(t, "normalQuantile, lower tail", normalQuantile(1-row.p), -row.z, 1e-13)
	}
}

// The naive twin halves an interval until it is as small as it gets.
func quantileByHalving(p float64) float64 {
	low, high := -40.0, 40.0
	for range 200 {
		if mid := (low + high) / 2; normalCDF(mid) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

func TestNormalQuantileAgreesWithHalving(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := math.Pow(10, -rapid.Float64Range(0.31, 15).Draw(t, "minus log10 of p"))
		got, want := normalQuantile(p), quantileByHalving(p)
		require.False(t, math.Abs(got-want) > 1e-9, "normalQuantile(%g) = %.15g, by halving %.15g", p, got, want)
	})
}

func TestTwoSidedZ(t *testing.T) {
	near(t, "twoSidedZ(0.05)", twoSidedZ(0.05), 1.959963984540054, 1e-13)
}
