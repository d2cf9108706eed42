package engine

// Zone is the zone of a point on a map that is cut at c: a point on the cut of
// importance counts as important, one on the cut of evidence as having
// evidence. A point or a cut without a value has no zone.
//
// The cuts are the medians of the medians of this very map. Zones are
// relative, then: about half of all assumptions are important, however
// generous the raters were, and two maps cannot be compared by number.
func (c Cut) Zone(importance, evidence Figure) Zone {
	for _, f := range []Figure{c.Importance, c.Evidence, importance, evidence} {
		if !f.Defined() {
			return ""
		}
	}
	return zones[zoneIndex(importance >= c.Importance, evidence < c.Evidence)]
}

// zones holds the zones in test order.
var zones = [...]Zone{TestFirst, RelyOn, Watch, Leave}

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

// ZoneAt is the zone in which a point would lie on this map, cut where the map
// is: so that a new rating can be told apart from a new yardstick. It is empty
// where the point or a cut has no value.
func (r Result) ZoneAt(importance, evidence Figure) Zone { return r.Cut.Zone(importance, evidence) }
