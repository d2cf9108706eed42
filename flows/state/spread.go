package state

import (
	"slices"

	"soundings/engine"
)

// SpreadOf is the median and the interquartile range of what each person said; undefined
// where fewer than FewestRaters said something, see Few.
func SpreadOf(said map[UserID]int) (median, iqr engine.Figure) {
	if len(said) < FewestRaters {
		return engine.Undefined(), engine.Undefined()
	}
	var values []float64
	for _, v := range said {
		values = append(values, float64(v))
	}
	slices.Sort(values)
	q := func(p float64) float64 { return engine.Quantile(values, p) }
	return engine.Figure(q(0.5)), engine.Figure(q(0.75) - q(0.25))
}

// Said is what may be told of answers from 1 to 9 that were given unseen.
type Said struct {
	N           int
	Median, IQR engine.Figure // undefined where few answered
	Third       int           // where few did: the third of the scale, 1 to 3, in which most are; 0 where none has most
}

// SaidOf counts what each person said.
func SaidOf(answers map[UserID]int) Said {
	s := Said{N: len(answers)}
	s.Median, s.IQR = SpreadOf(answers)
	if s.N < FewestRaters {
		var counts engine.Counts
		for _, v := range answers {
			counts[v]++
		}
		s.Third, _ = Few(counts)
	}
	return s
}

// withoutFew leaves out figures of few, which an older release kept.
func (s Said) withoutFew() Said {
	if s.N < FewestRaters {
		s.Median, s.IQR = engine.Undefined(), engine.Undefined()
	}
	return s
}

// ZoneWith is the zone of an assumption with other evidence, on the map and by
// the rule of the round.
func ZoneWith(r *Round, a engine.AssumptionScore, evidence engine.Spread) engine.Zone {
	if r.Rule == ByLean {
		return r.Result.Rezone(a, evidence)
	}
	return r.Result.Cut.Zone(a.Importance.Median, evidence.Median)
}

// ConfidenceOf is what the votes of confidence at a check-in came to.
func ConfidenceOf(c Checkin) Said {
	if v := c.Counted; v != nil {
		return Said{v.Voters, v.Median, v.IQR, v.Third}.withoutFew()
	}
	return SaidOf(c.Confidence)
}
