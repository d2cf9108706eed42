package views

import (
	"soundings/engine"
	"soundings/flows/state"
)

// Foreseen is what people expected of a test before anybody knew, beside what came.
type Foreseen struct {
	Test     state.Test
	Expected state.Expected
	Came     engine.Figure // the share, from 0 to 1; of a figure or a yes, of the reports that met it
	Final    bool          // what was planned is done
}

// ForeseenOf is that of one test; false where nobody said anything, or no result counts.
func ForeseenOf(k *state.Kickoff, test int) (f Foreseen, known bool) {
	counted := k.Foresight[test].Counted
	found, reported := state.Found(k, test)
	if counted == nil || !reported || found.N == 0 {
		return f, false
	}
	expected := *counted
	if expected.N < state.FewestRaters { // an older release kept it
		expected.Median, expected.IQR = engine.Undefined(), engine.Undefined()
	}
	return Foreseen{k.Backlog.Tests[test-1], expected, engine.Figure(float64(found.K) / float64(found.N)), found.Verdict != engine.SoFar}, true
}

// Foresight lists what was expected of tests and has come, in the order of their numbers.
func Foresight(k *state.Kickoff) []Foreseen {
	var out []Foreseen
	for _, t := range k.Backlog.Tests {
		if f, known := ForeseenOf(k, t.N); known {
			out = append(out, f)
		}
	}
	return out
}

// ScoreOf says how far the group's expectations were from what came, of the tests that are done.
func ScoreOf(all []Foreseen) engine.ForesightScore {
	var forecasts []engine.Forecast
	for _, f := range all {
		if !f.Final {
			continue
		}
		forecast := engine.Forecast{Group: f.Expected.Median / 100, Came: float64(f.Came)}
		for _, said := range f.Expected.Each() {
			forecast.Said = append(forecast.Said, float64(said)/100)
		}
		forecasts = append(forecasts, forecast)
	}
	return engine.ScoreForesight(forecasts)
}
