package engine

// ZoneAt is the zone in which a point would lie on this map, cut where the map
// is: so that a new rating can be told apart from a new yardstick. It is empty
// where the point or a cut has no value.
func (r Result) ZoneAt(importance, evidence Figure) Zone { return r.Cut.Zone(importance, evidence) }
