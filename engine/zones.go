package engine

// Zone is the zone of a point on a map that was cut at its medians alone, as
// maps were before ratings were told apart by their lean: a point on the cut of
// importance counts as important, one on the cut of evidence as having
// evidence. A point or a cut without a value has no zone. A new rating is laid
// on the cut of the old map, so that it can be told apart from a new yardstick.
func (c Cut) Zone(importance, evidence Figure) Zone {
	for _, f := range []Figure{c.Importance, c.Evidence, importance, evidence} {
		if !f.Defined() {
			return ""
		}
	}
	return zonesByMedian[zoneIndex(importance >= c.Importance, evidence < c.Evidence)]
}

// zones holds the zones in test order, zonesByMedian those of earlier maps.
var (
	zones         = [...]Zone{TestFirst, Next, Watch, Later}
	zonesByMedian = [...]Zone{TestFirst, RelyOn, Watch, Leave}
)

// Zones lists the zones of the map in test order, as they were called when it
// was made.
func (r Result) Zones() []Zone {
	for _, a := range r.Assumptions {
		if a.Zone == RelyOn || a.Zone == Leave {
			return zonesByMedian[:]
		}
	}
	return zones[:]
}

// Rezone is the zone of a, an assumption of the map, when its evidence has been
// rated anew: on the cuts of this map, so that what moved can be told apart
// from a new yardstick. Its importance stays as it was; thin it stays until more
// people have rated.
func (r Result) Rezone(a AssumptionScore, evidence Spread) Zone {
	if a.Importance.N == 0 || evidence.N == 0 {
		return ""
	}
	cut := r.fineCut()
	little := func(s Spread) bool { return a.doubt(s) != "" || cut.little(s) }
	important := a.Zone == TestFirst || a.Zone == Next
	if m := a.Importance.Median; a.Zone == "" { // nobody had rated its evidence
		important = m >= upperThird || m >= middleThird && a.Importance.fine() >= cut.Importance-tolerance
	}
	// What was promoted, for want of anything less known, stays first until
	// it is known.
	promoted := a.Zone == TestFirst && !little(a.Evidence) && evidence.Median < upperThird
	return zones[zoneIndex(important, promoted || little(evidence))]
}

// Place lays an assumption on the map that was not there when the map was made:
// on the cuts of this map, with asked people asked to rate it.
func (r Result) Place(id string, importance, evidence Spread, asked int) AssumptionScore {
	a := AssumptionScore{ID: id, Importance: importance, Evidence: evidence, Thin: thin(min(importance.N, evidence.N), asked)}
	a.Zone = r.Rezone(a, evidence)
	a.Known = a.Zone != "" && evidence.Median >= upperThird && a.doubt(evidence) == ""
	return a
}

// doubt is that about evidence of a, as it is on the map or has been rated anew.
func (a AssumptionScore) doubt(evidence Spread) Doubt {
	switch {
	case evidence.Agreement == Split:
		return DoubtSplit
	case a.Thin && (evidence.N <= a.Evidence.N || min(evidence.N, a.Importance.N) < fewRatings):
		return DoubtThin
	}
	return ""
}

// DoubtAlone is why evidence of a counts as little on the map though its median
// would not make it so; empty where the median does, or nothing is in doubt.
func (r Result) DoubtAlone(a AssumptionScore, evidence Spread) Doubt {
	if a.Zone == "" || a.Zone == RelyOn || a.Zone == Leave || evidence.N == 0 || r.fineCut().little(evidence) {
		return ""
	}
	return a.doubt(evidence)
}

// little reports that the median of evidence makes it little.
func (c Cut) little(evidence Spread) bool {
	return evidence.Median < middleThird || evidence.Median < upperThird && evidence.fine() <= c.Evidence+tolerance
}

// fine is the value that tells equal medians apart.
func (s Spread) fine() Figure { return s.Median + s.Lean/1000 }

// fineCut holds the medians of the fine values of the rated assumptions.
func (r Result) fineCut() Cut {
	var importance, evidence []float64
	for _, a := range r.Assumptions {
		if a.Zone != "" {
			importance = append(importance, float64(a.Importance.fine()))
			evidence = append(evidence, float64(a.Evidence.fine()))
		}
	}
	return Cut{median(importance), median(evidence)}
}

// zoneIndex is the place of a zone in the test order.
func zoneIndex(important, little bool) int {
	switch {
	case important && little:
		return 0
	case important:
		return 1
	case little:
		return 2
	}
	return 3
}
