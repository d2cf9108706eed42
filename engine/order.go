package engine

import (
	"cmp"
	"slices"
	"sort"
)

// The test order is a matter of "more" and "less" alone. Everything below
// therefore works on levels: whole numbers from 1 that stand for the values
// of a map in rising order, with 0 for no value. Medians of ratings have a
// level each (see medianLevel); other values are numbered by levelsOf.

// levelsOf numbers values from 1 in rising order, equal ones alike; NaN gets 0.
func levelsOf(values []Figure) (levels []int32, top int) {
	distinct := slices.DeleteFunc(slices.Clone(values), func(v Figure) bool { return !v.Defined() })
	slices.Sort(distinct)
	distinct = slices.Compact(distinct)
	levels = make([]int32, len(values))
	for i, v := range values {
		if v.Defined() {
			at, _ := slices.BinarySearch(distinct, v)
			levels[i] = int32(at + 1)
		}
	}
	return levels, len(distinct)
}

// An arranger puts items into test order. It is told their levels on both
// scales, with the items in the natural order of their ids, which decides last.
// It allocates only when it is made, so that thousands of resamples cost no
// garbage.
type arranger struct {
	importance, evidence []int32 // levels, to be filled in by the caller

	order []int32 // the items in test order, those without a value last
	rated int     // how many items at the front of order have values

	fronts  [len(zones)]front[int32]
	key     []int32 // of each item, what sort goes by; at last the zone and the layer
	spare   []int32 // for sort
	bins    []int32 // for sort
	top     int32   // the highest level
	deepest int32   // a zone has at most as many layers
}

func newArranger(items, top int) *arranger {
	a := &arranger{
		importance: make([]int32, items),
		evidence:   make([]int32, items),
		order:      make([]int32, items),
		key:        make([]int32, items),
		spare:      make([]int32, items),
		top:        int32(top),
		// Each step down a chain of dominators lowers the importance or
		// raises the evidence by a level.
		deepest: int32(min(items, 2*top)),
	}
	for z := range a.fronts {
		a.fronts[z] = make(front[int32], 0, a.deepest)
	}
	a.bins = make([]int32, 1+max(a.top, int32(len(zones))*a.deepest))
	return a
}

// zone and layer are where arrange has put a rated item: the zone as an index
// into zones, the layer within it counted from 0.
func (a *arranger) zone(item int32) int32  { return a.key[item] / a.deepest }
func (a *arranger) layer(item int32) int32 { return a.key[item] % a.deepest }

// arrange finds zones, layers and the order: by zone, by layer within the
// zone, by importance, by less evidence, by id.
//
// The cut is the median of the rated items. Where their number is even it lies
// between the two middle values, and to be at least there is the same as to be
// at least the upper of the two; so that one is all the cut there is.
func (a *arranger) arrange() {
	a.setApart()
	rated := a.order[:a.rated]
	if len(rated) == 0 {
		return
	}
	a.sort(rated, a.evidence, a.top)
	evidenceCut := a.evidence[rated[len(rated)/2]]

	for _, i := range rated {
		a.key[i] = a.top - a.importance[i] // the more important first
	}
	a.sort(rated, a.key, a.top)
	importanceCut := a.importance[rated[len(rated)-1-len(rated)/2]]

	a.place(rated, importanceCut, evidenceCut)
	a.sort(rated, a.key, int32(len(zones))*a.deepest)
}

// setApart fills order with the rated items and then the others.
func (a *arranger) setApart() {
	a.rated = 0
	others := 0
	for i := range a.importance {
		if a.importance[i] != 0 && a.evidence[i] != 0 {
			a.order[a.rated] = int32(i)
			a.rated++
		} else {
			a.spare[others] = int32(i)
			others++
		}
	}
	copy(a.order[a.rated:], a.spare[:others])
}

// place sets the key of items, which stand by falling importance and then
// rising evidence, to their zone and their layer.
func (a *arranger) place(items []int32, importanceCut, evidenceCut int32) {
	for z := range a.fronts {
		a.fronts[z] = a.fronts[z][:0]
	}
	var key int32
	var last [2]int32 // no level is 0
	for _, i := range items {
		at := [2]int32{a.importance[i], a.evidence[i]}
		if at != last {
			z := zoneIndex(at[0] >= importanceCut, at[1] < evidenceCut)
			key = int32(z)*a.deepest + int32(a.fronts[z].add(at[1]))
			last = at
		}
		a.key[i] = key
	}
}

// sort puts items by key, which lies in 0 to most, and leaves those with equal
// keys in the order in which they stand: a counting sort.
func (a *arranger) sort(items, key []int32, most int32) {
	spare, bins := a.spare, a.bins[:most+1]
	clear(bins)
	for _, i := range items {
		bins[key[i]]++
	}
	start := int32(0)
	for k, count := range bins {
		bins[k] = start
		start += count
	}
	for _, i := range items {
		spare[bins[key[i]]] = i
		bins[key[i]]++
	}
	copy(items, spare)
}

// Layers are non-dominated layers, counted from 1. A point dominates another
// when it is at least as important and has at most as much evidence, and is
// strictly ahead in one of the two. Layer 1 holds the points that none
// dominates, layer 2 those that are left undominated without layer 1, and so
// on; equal points share a layer.
//
// The two ratings are ordinal, so they are never multiplied or added: layers
// stay as they are under any recoding of a scale that keeps its order, and
// products do not (Stevens S.S. 1946, Science 103, 677-680).
//
// Finding them takes O(n log n) where the usual way, comparing every pair,
// takes O(n²) (Deb K. et al. 2002, IEEE Transactions on Evolutionary
// Computation 6(2), 182-197): layer = 1 + the longest chain of dominators, and
// among two criteria that is a longest monotone run, found by patience sorting.

// A front holds the least evidence found in each layer, from the first on. It
// never falls from layer to layer: whatever stands in a layer is dominated by
// something in the layer before.
type front[T cmp.Ordered] []T

// add finds the layer, counted from 0, of the next point. Points come with the
// more important first and, among equally important ones, the one with less
// evidence, so that none is dominated by a later one; each must differ
// from the one before. All points so far are at least as important, so a layer
// dominates the new point exactly when its least evidence is no more than the
// point's.
func (f *front[T]) add(evidence T) int {
	least := *f
	layer := sort.Search(len(least), func(layer int) bool { return least[layer] > evidence })
	if layer == len(least) {
		*f = append(least, evidence)
	} else {
		least[layer] = evidence
	}
	return layer
}

// Zone is the zone of a point on a map that is cut at c: a point on the cut of
// importance counts as important, one on the cut of evidence as having
// evidence. A point or a cut without a value has no zone.
//
// The cuts are the medians of the medians of this very map. Zones are
// relative, then: about half of all assumptions are important, however
// generous the raters were, and two maps cannot be compared by number. A new
// rating is laid on the cut of the old map, so that it can be told apart from a
// new yardstick.
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
