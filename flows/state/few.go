package state

import (
	"slices"

	"soundings/engine"
)

// FewestRaters is how many have to rate something before more is told of their
// ratings than the median: of three, the quartiles give away each.
const FewestRaters = 4

// WithoutFew leaves out of a map what would give single ratings away.
func WithoutFew(r engine.Result) engine.Result {
	r.Assumptions = slices.Clone(r.Assumptions)
	if r.Raters < FewestRaters {
		r.Flat = engine.Flat{} // among so few it would be plain whose they are
	}
	for i, a := range r.Assumptions {
		r.Assumptions[i] = ScoreWithoutFew(a)
	}
	return r
}

// ScoreWithoutFew does so for one assumption.
func ScoreWithoutFew(a engine.AssumptionScore) engine.AssumptionScore {
	for _, s := range []*engine.Spread{&a.Importance, &a.Evidence} {
		if s.N < FewestRaters {
			none := engine.Undefined()
			s.Q1, s.Q3, s.IQR, s.IPRLow, s.IPRHigh, s.IPRAS = none, none, none, none, none, none
		}
	}
	return a
}

// FewLevels does it for the choice of a level.
func FewLevels(l engine.LadderLevel) engine.LadderLevel {
	if l.N < FewestRaters {
		l.Q1, l.Q3, l.IQR = engine.Undefined(), engine.Undefined(), engine.Undefined()
	}
	return l
}

// CampsOf counts the camps about an assumption: as they were counted, or
// where an older release did not, from the ballots.
func CampsOf(r Round, id string) Camps {
	if c, counted := r.Camps[id]; counted {
		return c
	}
	var c Camps
	for _, ballot := range r.Ballots {
		if m := ballot[id]; m.Importance > 0 {
			c.Importance[(m.Importance-1)/3]++
		}
		if m := ballot[id]; m.Evidence > 0 {
			c.Evidence[(m.Evidence-1)/3]++
		}
	}
	return c
}

// SplitCamps counts the camps of what is split after the first round, where
// enough have rated.
func SplitCamps(k *Kickoff, result engine.Result) map[string]Camps {
	if len(k.Rounds) > 1 {
		return nil
	}
	var all map[string]Camps
	for _, a := range result.Assumptions {
		var shown Camps
		c, show := CampsOf(k.Rounds[0], a.ID), false
		if a.Importance.Agreement == engine.Split && a.Importance.N >= FewestRaters {
			shown.Importance, show = c.Importance, true
		}
		if a.Evidence.Agreement == engine.Split && a.Evidence.N >= FewestRaters {
			shown.Evidence, show = c.Evidence, true
		}
		if show && all == nil {
			all = map[string]Camps{}
		}
		if show {
			all[a.ID] = shown
		}
	}
	return all
}
