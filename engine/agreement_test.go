package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDisagreementVectors(t *testing.T) {
	eachVector(t, "ram_ipras", func(t *testing.T, c vectorCase) {
		var in struct{ Ratings []int }
		var want struct {
			N                     int
			Median, P30, P70, IPR float64
			IPRAS                 float64
			DisagreementIPRAS     bool  `json:"disagreement_ipras"`
			PanelThreshold        *int  `json:"panel_threshold"`
			PanelDisagreement     *bool `json:"panel_disagreement"`
			Low                   *int  `json:"n_1_3"`
			High                  *int  `json:"n_7_9"`
		}
		c.read(t, &in, &want)
		counts := CountRatings(toRatings(in.Ratings))
		s := counts.Spread()
		assert.Equal(t, want.N, s.N, "n, disagreement")
		assert.Equal(t, want.DisagreementIPRAS, s.Disagreement, "n, disagreement")
		near(t, "median", float64(s.Median), want.Median, c.Tolerance)
		near(t, "30th percentile", float64(s.IPRLow), want.P30, c.Tolerance)
		near(t, "70th percentile", float64(s.IPRHigh), want.P70, c.Tolerance)
		near(t, "range", float64(s.IPRHigh-s.IPRLow), want.IPR, c.Tolerance)
		near(t, "IPRAS", float64(s.IPRAS), want.IPRAS, c.Tolerance)
		if want.PanelDisagreement != nil {
			low, high := ends(&counts)
			assert.False(t, low != *want.Low || high != *want.High || panelThreshold(s.N) != *want.PanelThreshold, "ends and threshold of the panel = %d, %d, %d, want %d, %d, %d", low, high, panelThreshold(s.N), *want.Low, *want.High, *want.PanelThreshold)
			assert.Equal(t, *want.PanelDisagreement, panelDisagrees(&counts), "disagreement by the panel's count")
		}
	})
}

// The older rule of the RAND/UCLA manual, by counting the ends. The engine does
// not use it, since it is defined for panels of 8 to 16 only.
func panelDisagrees(c *Counts) bool {
	low, high := ends(c)
	return low >= panelThreshold(c.N()) && high >= panelThreshold(c.N())
}

func ends(c *Counts) (low, high int) { return c[1] + c[2] + c[3], c[7] + c[8] + c[9] }

func panelThreshold(n int) int { return (n + 1) / 3 }

func TestPanelThresholdVectors(t *testing.T) {
	eachVector(t, "ram_panel_thresholds", func(t *testing.T, c vectorCase) {
		var in struct {
			PanelSize int `json:"panel_size"`
		}
		var want struct {
			Outside int  `json:"agreement_max_outside"`
			Each    *int `json:"disagreement_min_each_extreme"`
		}
		c.read(t, &in, &want)
		got := panelThreshold(in.PanelSize)
		assert.False(t, got-1 != want.Outside || want.Each != nil && got != *want.Each, "threshold of a panel of %d = %d", in.PanelSize, got)
	})
}

// exactlyDisagrees is the rule in whole 1/200ths, without rounding.
func exactlyDisagrees(tenthsLow, tenthsHigh int) bool {
	return 20*(tenthsHigh-tenthsLow) > allowed200(tenthsLow, tenthsHigh)
}

// allowed200 is IPRAS in units of 1/200.
func allowed200(tenthsLow, tenthsHigh int) int {
	return 470 + 15*max(100-tenthsLow-tenthsHigh, tenthsLow+tenthsHigh-100)
}

// Equality with IPRAS is no disagreement. Without the tolerance, rounding makes
// it one: this test is what fails then.
func TestEqualityIsNoDisagreement(t *testing.T) {
	equal := 0
	for low := 10; low <= 90; low++ {
		for high := low; high <= 90; high++ {
			a, b := Figure(low)/10, Figure(high)/10
			assert.Equal(t, exactlyDisagrees(low, high), disagree(a, b, ipras(a, b)), "disagreement from %v to %v", a, b)
			if 20*(high-low) == allowed200(low, high) {
				equal++
			}
		}
	}
	assert.Equal(t, 8, equal, "pairs of percentiles are just as wide as allowed")
}

// Of all 24,310 ways to rate for a panel of nine, 918 are disagreement by the
// count of the ends alone and 900 by IPRAS alone (computed with exact fractions
// in Python).
func TestRulesOfThePanelOfNine(t *testing.T) {
	all, byCount, byRange := 0, 0, 0
	eachPanel(9, func(c *Counts) {
		all++
		s := c.Spread()
		require.Equal(t, exactlyDisagrees(c.quantile(3, 10), c.quantile(7, 10)), s.Disagreement, "disagreement of %v", *c)
		switch counted := panelDisagrees(c); {
		case counted && !s.Disagreement:
			byCount++
		case s.Disagreement && !counted:
			byRange++
		}
	})
	assert.Equal(t, 24310, all, "panels, by count alone, by range alone = %d, %d", all, byCount)
	assert.Equal(t, 918, byCount, "panels, by count alone, by range alone = %d, %d", all, byCount)
	assert.Equal(t, 900, byRange, "panels, by count alone, by range alone = %d, %d", all, byCount)
}

// eachPanel visits every multiset of n ratings.
func eachPanel(n int, visit func(*Counts)) {
	var c Counts
	var fill func(rating, left int)
	fill = func(rating, left int) {
		if rating == 9 {
			c[9] = left
			visit(&c)
			return
		}
		for c[rating] = 0; c[rating] <= left; c[rating]++ {
			fill(rating+1, left-c[rating])
		}
		c[rating] = 0
	}
	fill(1, n)
}

func TestAgreement(t *testing.T) {
	for _, test := range []struct {
		rule    string
		ratings []Rating
		want    Agreement
	}{
		{"no ratings, no word", nil, ""},
		{"one rating agrees with itself", []Rating{3}, Close},
		{"a quartile range of 2 is still close", []Rating{6, 6, 7, 8, 8}, Close},
		{"a quartile range above 2 is mixed", []Rating{5, 5, 6, 7, 8, 9}, Mixed},
		{"a quartile range of 4 within what is allowed is mixed", []Rating{5, 5, 5, 7, 8, 9, 9, 9, 9}, Mixed},
		{"a quartile range above 4 is split without disagreement by the index", []Rating{3, 3, 3, 8, 9, 9, 9, 9, 9}, Split},
		{"disagreement is split within a quartile range of 4", []Rating{3, 3, 3, 4, 5, 6, 7, 7, 7}, Split},
		{"two camps are split", []Rating{1, 1, 1, 9, 9, 9}, Split},
	} {
		counts := CountRatings(test.ratings)
		s := counts.Spread()
		assert.Equal(t, test.want, s.Agreement, "%s: %v is %q, want %q: %+v", test.rule, test.ratings, s.Agreement, test.want, s)
	}
}

func TestThin(t *testing.T) {
	for _, test := range []struct {
		rule     string
		n, asked int
		want     bool
	}{
		{"two ratings are thin even when two were asked", 2, 2, true},
		{"three of three", 3, 3, false},
		{"half of those asked is enough", 5, 10, false},
		{"less than half is thin", 5, 11, true},
	} {
		assert.Equal(t, test.want, thin(test.n, test.asked), "%s: thin(%d, %d)", test.rule, test.n, test.asked)
	}
}
