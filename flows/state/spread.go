package state

import (
	"slices"

	"soundings/engine"
)

// SpreadOf is the median and the interquartile range of what each person
// said; undefined when nobody said anything, and the range when few did.
func SpreadOf(said map[UserID]int) (median, iqr engine.Figure) {
	var values []float64
	for _, v := range said {
		values = append(values, float64(v))
	}
	slices.Sort(values)
	q := func(p float64) float64 { return engine.Quantile(values, p) }
	if len(values) < FewestRaters {
		return engine.Figure(q(0.5)), engine.Undefined()
	}
	return engine.Figure(q(0.5)), engine.Figure(q(0.75) - q(0.25))
}

// ZoneWith is the zone of an assumption with other evidence, on the map and by
// the rule of the round.
func ZoneWith(r *Round, a engine.AssumptionScore, evidence engine.Spread) engine.Zone {
	if r.Rule == ByLean {
		return r.Result.Rezone(a, evidence)
	}
	return r.Result.Cut.Zone(a.Importance.Median, evidence.Median)
}

// ConfidenceSpread is the median and the interquartile range of a check-in's
// votes of confidence; undefined without votes.
func ConfidenceSpread(c Checkin) (median, iqr engine.Figure) {
	if c.Counted != nil {
		return c.Counted.Median, c.Counted.IQR
	}
	return SpreadOf(c.Confidence)
}
