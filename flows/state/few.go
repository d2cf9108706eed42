package state

import (
	"slices"

	"soundings/engine"
)

// FewestRaters is how many have to rate something before more is told of their
// ratings than the median: of three, the quartiles give away each.
const FewestRaters = 4

// Few says what is told of answers from 1 to 9 where their figure is not: it is told from
// FewestRaters on. Of one person's answer nothing is, of two or three only the third of the
// scale in which most of them are: with the figure, each of two would know what the other
// said, and of three the one who is apart might. Of evidence rated anew, what the map shows
// and who comes next hang on that third alone.
func Few(said engine.Counts) (third int, coarse engine.Counts) {
	var thirds [4]int
	for value, n := range said {
		if value > 0 {
			thirds[(value+2)/3] += n
		}
	}
	n := said.N()
	for i, in := range thirds {
		if n > 1 && 2*in > n {
			coarse[3*i-1] = n // the middle of that third
			return i, coarse
		}
	}
	return 0, coarse
}

// ByThirds puts each rating in the middle of its third of the scale: so what came after the
// map was made gets a place on it that tells no rating of few.
func ByThirds(said engine.Counts) engine.Counts {
	var coarse engine.Counts
	for value, n := range said {
		if value > 0 {
			coarse[3*((value+2)/3)-1] += n
		}
	}
	return coarse
}

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
