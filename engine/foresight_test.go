package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The example in the documentation of scikit-learn, brier_score_loss, which prints
// 0.037…: one forecast of four, with the event and without it, and what was surely right.
func TestScikitLearnsExample(t *testing.T) {
	came, sure, without := []float64{0, 1, 1, 0}, []Forecast(nil), []Forecast(nil)
	var all []Forecast
	for i, forecast := range []float64{0.1, 0.9, 0.8, 0.3} {
		all = append(all, Forecast{Group: Figure(forecast), Came: came[i]})
		without = append(without, Forecast{Group: Figure(1 - forecast), Came: 1 - came[i]})
		sure = append(sure, Forecast{Group: Figure(came[i]), Came: came[i]})
	}
	assert.InDelta(t, 0.0375, float64(ScoreForesight(all).Brier), 1e-12)
	assert.InDelta(t, 0.0375, float64(ScoreForesight(without).Brier), 1e-12)
	assert.Zero(t, ScoreForesight(sure).Brier)
}

// The ten forecasts of rain in table 1 of Brier, "Verification of forecasts expressed
// in terms of probability", Monthly Weather Review 78, 1950. The paper gives 0.19 for
// both classes, rain and no rain; one class has half of it. The paper was not at hand: the
// forecasts are as the examples of SkillMetrics (Rochford) have them, on which days it
// rained, and the 0.19, are from memory.
func TestBriersOwnExample(t *testing.T) {
	rain := []float64{0.7, 0.9, 0.8, 0.4, 0.2, 0, 0, 0, 0, 0.1}
	came := []float64{0, 1, 1, 1, 0, 0, 0, 0, 0, 0}
	var all []Forecast
	for i := range rain {
		all = append(all, Forecast{Group: Figure(rain[i]), Came: came[i]})
	}
	got := ScoreForesight(all)
	assert.Equal(t, 10, got.Tests)
	assert.InDelta(t, 0.19, 2*float64(got.Brier), 1e-12)
	assert.InDelta(t, 0.25, float64(got.Half), 1e-12)
	assert.False(t, got.Alone.Defined() || got.Spread.Defined(), "nothing was said of what each expected")
}

// By hand: (0.7-0.31)² = 0.1521 and (0.9-1)² = 0.01; half of everything (0.5-0.31)² =
// 0.0361 and 0.25. Of the first test each said 0.5, 0.7, 0.7 and 0.9: 0.0361, 0.1521
// twice and 0.3481, on average 0.1721; quartiles of type 7 are 0.65 and 0.75.
func TestForesightByHand(t *testing.T) {
	got := ScoreForesight([]Forecast{{0.7, []float64{0.5, 0.7, 0.7, 0.9}, 0.31}, {0.9, nil, 1}, {Undefined(), nil, 1}})
	assert.Equal(t, 2, got.Tests)
	assert.InDelta(t, (0.1521+0.01)/2, float64(got.Brier), 1e-12)
	assert.InDelta(t, (0.0361+0.25)/2, float64(got.Half), 1e-12)
	assert.InDelta(t, (0.39+0.1)/2, float64(got.Off), 1e-12)
	assert.InDelta(t, 0.1721, float64(got.Alone), 1e-12)
	assert.InDelta(t, 0.1, float64(got.Spread), 1e-12)
}

func TestNoForesightHasNoScore(t *testing.T) {
	got := ScoreForesight(nil)
	assert.Zero(t, got.Tests)
	for _, f := range []Figure{got.Brier, got.Half, got.Alone, got.Off, got.Spread} {
		assert.False(t, f.Defined())
	}
}

// Brier's score of each case of a test, less what the cases differ among themselves,
// is the square of the difference of the shares (Murphy 1973).
func TestTheScoreOfAShareIsThatOfItsCases(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		p := rapid.Float64Range(0, 1).Draw(t, "forecast")
		cases := 0.0
		for _, came := range slices.Concat(slices.Repeat([]float64{1}, k), slices.Repeat([]float64{0}, n-k)) {
			cases += (p - came) * (p - came) / float64(n)
		}
		share := float64(k) / float64(n)
		got := ScoreForesight([]Forecast{{Group: Figure(p), Came: share}})
		assert.InDelta(t, cases-share*(1-share), float64(got.Brier), 1e-9)
	})
}
