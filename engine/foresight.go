package engine

import "math"

// A Forecast is what a group expected of one test before anybody knew, beside
// what came of it. All are shares from 0 to 1: of people or cases, or how likely
// it was that a yes or a figure would be met, which then is 1 or 0.
type Forecast struct {
	Group Figure    // the median of the group
	Said  []float64 // by each, in rising order; nil where few said something
	Came  float64
}

// A ForesightScore says how far a group's forecasts were from what came. Its
// figures are undefined without forecasts.
type ForesightScore struct {
	Tests  int    `json:"tests"`  // forecasts that have come in
	Brier  Figure `json:"brier"`  // of the group: 0 without a mistake, 1 at worst
	Half   Figure `json:"half"`   // of somebody who expects one half of everything, for comparison
	Alone  Figure `json:"alone"`  // of one person, on average, where enough said something
	Off    Figure `json:"off"`    // how far the group was off on average, as a share from 0 to 1
	Spread Figure `json:"spread"` // the interquartile range of what each said, on average, where enough did
}

// ScoreForesight lays forecasts beside what came: the mean of the squares of the
// differences.
//
// For a yes or no that is the score of Brier ("Verification of forecasts expressed
// in terms of probability", Monthly Weather Review 78, 1950), counted for one of
// its two classes, so that it lies between 0 and 1 and not between 0 and 2. Who
// expects a share of cases gives each case the same probability. The score of those
// cases is the square of the difference of the shares, and what the cases differ
// among themselves, for which no forecaster can do anything (Murphy, "A new vector
// partition of the probability score", Journal of Applied Meteorology 12, 1973).
// That second part is left out.
func ScoreForesight(all []Forecast) ForesightScore {
	var brier, half, alone, off, spread []float64
	for _, f := range all {
		if !f.Group.Defined() {
			continue
		}
		miss := float64(f.Group) - f.Came
		brier, half, off = append(brier, miss*miss), append(half, (0.5-f.Came)*(0.5-f.Came)), append(off, math.Abs(miss))
		if len(f.Said) == 0 {
			continue
		}
		var each []float64
		for _, said := range f.Said {
			each = append(each, (said-f.Came)*(said-f.Came))
		}
		alone = append(alone, float64(mean(each)))
		spread = append(spread, Quantile(f.Said, 0.75)-Quantile(f.Said, 0.25))
	}
	return ForesightScore{Tests: len(brier), Brier: mean(brier), Half: mean(half), Alone: mean(alone), Off: mean(off), Spread: mean(spread)}
}

func mean(values []float64) Figure {
	if len(values) == 0 {
		return Undefined()
	}
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return Figure(sum / float64(len(values)))
}
