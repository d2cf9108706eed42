package engine

import (
	"cmp"
	"math"
	"slices"
)

// The test order is a matter of "more" and "less" alone. Everything below
// therefore works on levels: whole numbers from 1 that stand for the values
// of a map in rising order, with 0 for no value. Medians of ratings have a
// level each (see medianLevel); other values are numbered by levelsOf.

// The bounds of the thirds of the 1-9 scale, 1-3, 4-6 and 7-9, for medians
// that may lie half-way: 3.5 belongs to the middle and 6.5 to the upper third
// (RAND/UCLA manual, MR-1269, from memory).
const (
	middleThird = 3.5
	upperThird  = 6.5
)

// A reading is what the test order goes by on one scale.
type reading struct {
	level []int32 // of each item
	fine  []int32 // levels that the lean tells apart, see fineLevel
	bits  int     // of the lean in fine; 0 where nothing leans

	// The first levels of the middle and of the upper third of the scale.
	middle, upper int32
	top           int32 // the highest level there may be
}

// A fine level holds a level and, in its lower bits, the lean, in steps that
// part even the shares of a thousand ratings: the median + lean/1000 as a whole
// number.
const (
	leanBits = 22
	leanStep = 1 << 20 // of a lean of 1; leans run from -1 to 1
)

func fineLevel(level int32, lean float64) int32 {
	return level<<leanBits + int32((lean+1)*leanStep)
}

// medianReading is for medians of ratings, whose levels are twice the median.
func medianReading(items int) reading {
	return reading{level: make([]int32, items), fine: make([]int32, items),
		bits: leanBits, middle: 2 * middleThird, upper: 2 * upperThird, top: topMedianLevel}
}

// readingOf numbers values from 1 in rising order, equal ones alike; NaN gets 0.
func readingOf(values []Figure) reading {
	distinct := slices.DeleteFunc(slices.Clone(values), func(v Figure) bool { return !v.Defined() })
	slices.Sort(distinct)
	distinct = slices.CompactFunc(distinct, func(a, b Figure) bool { return max(a, b)-min(a, b) <= tolerance })
	levels := make([]int32, len(values))
	r := reading{level: levels, fine: levels, top: int32(len(distinct))}
	below := func(bound Figure) int32 {
		at, _ := slices.BinarySearch(distinct, bound)
		return int32(at)
	}
	for i, v := range values {
		if v.Defined() {
			levels[i] = below(v + tolerance)
		}
	}
	r.middle, r.upper = 1+below(middleThird), 1+below(upperThird)
	return r
}

// An arranger puts items into test order. It is told their readings on both
// scales, with the items in the natural order of their ids, which decides last.
// It allocates only when it is made, so that thousands of resamples cost no
// garbage.
type arranger struct {
	importance, evidence reading // to be filled in by the caller
	doubt                []int32 // all bits where nobody can lean on the evidence: split, or thin; else 0

	order []int32 // the items in test order, those without a value last
	rated int     // how many items at the front of order have values

	fronts  [len(zones)]front[int32]
	key     []int32 // of each item, what sort goes by; at last the zone and the layer
	spare   []int32 // for sort
	bins    []int32 // for sort
	equals  []int32 // for middleOf
	deepest int32   // a zone has at most as many layers
}

func newArranger(importance, evidence reading, doubtful []bool) *arranger {
	items := len(doubtful)
	top := max(importance.top, evidence.top)
	a := &arranger{
		importance: importance,
		evidence:   evidence,
		doubt:      make([]int32, items),
		order:      make([]int32, items),
		key:        make([]int32, items),
		spare:      make([]int32, items),
		equals:     make([]int32, items),
		// Each step down a chain of dominators lowers the importance or
		// raises the evidence by a level.
		deepest: min(int32(items), 2*top),
	}
	for i, doubt := range doubtful {
		if doubt {
			a.doubt[i] = math.MaxInt32
		}
	}
	for z := range a.fronts {
		a.fronts[z] = make(front[int32], 0, a.deepest)
	}
	a.bins = make([]int32, 1+max(top, int32(len(zones))*a.deepest))
	return a
}

// zone and layer are where arrange has put a rated item: the zone as an index
// into zones, the layer within it counted from 0.
func (a *arranger) zone(item int32) int32  { return a.key[item] / a.deepest }
func (a *arranger) layer(item int32) int32 { return a.key[item] % a.deepest }

// arrange finds zones, layers and the order: by zone, by layer within the
// zone, by fine importance, by less fine evidence, by id.
//
// The cuts are the medians of the fine values of the rated items. Where the
// number of those is even a cut lies between two of them: to be at least there
// is to be at least the upper of the two, to be at most there at most the lower.
func (a *arranger) arrange() {
	a.setApart()
	rated := a.order[:a.rated]
	if len(rated) == 0 {
		return
	}
	a.sort(rated, a.evidence.level, a.evidence.top)
	mostLittle := a.middleOf(rated, &a.evidence, (len(rated)-1)/2)

	for _, i := range rated {
		a.key[i] = a.importance.top - a.importance.level[i] // the more important first
	}
	a.sort(rated, a.key, a.importance.top)
	leastImportant := a.middleOf(rated, &a.importance, (len(rated)-1)/2)

	if a.place(rated, leastImportant, mostLittle) {
		a.promote(rated)
	}
	const last = int32(len(zones) - 1)
	a.sort(rated, a.key, last*a.deepest+int32(len(a.fronts[last])))
}

// setApart fills order with the rated items and then the others.
func (a *arranger) setApart() {
	a.rated = 0
	others := 0
	for i := range a.order {
		if a.importance.level[i] != 0 && a.evidence.level[i] != 0 {
			a.order[a.rated] = int32(i)
			a.rated++
		} else {
			a.spare[others] = int32(i)
			others++
		}
	}
	copy(a.order[a.rated:], a.spare[:others])
}

// middleOf is the fine level at place k of items that stand by their levels,
// kept within the middle third of the scale, outside of which no cut decides.
func (a *arranger) middleOf(items []int32, r *reading, k int) int32 {
	level, falling := r.level[items[k]], r == &a.importance
	if level < r.middle || level >= r.upper {
		bound := min(max(level, r.middle), r.upper) << r.bits // of all that is at least there
		if !falling {
			bound-- // of all that is at most below
		}
		return bound
	}
	from, to := k, k+1
	for from > 0 && r.level[items[from-1]] == level {
		from--
	}
	for to < len(items) && r.level[items[to]] == level {
		to++
	}
	equals := a.equals[:to-from]
	for n, i := range items[from:to] {
		equals[n] = r.fine[i]
	}
	if falling {
		return smallest(equals, to-1-k)
	}
	return smallest(equals, k-from)
}

// smallest is the value at place k, from 0, in rising order. Few values are
// counted against each other, without branches that go either way.
func smallest(values []int32, k int) int32 {
	if len(values) > 20 {
		return selected(values, k)
	}
	for _, v := range values {
		below, notAbove := int32(0), int32(0)
		for _, other := range values {
			below += 1 - atMost(v, other)
			notAbove += atMost(other, v)
		}
		if below <= int32(k) && int32(k) < notAbove {
			return v
		}
	}
	panic("engine: none of the values is at the place")
}

// selected is the value at place k, from 0, in rising order. It moves values about, so that
// none before k is greater and none after it smaller, and sorts no more than that takes (Hoare
// C.A.R. 1961, Algorithm 65: Find, Communications of the ACM 4(7), 321-322).
func selected[T cmp.Ordered](values []T, k int) T {
	from, to := 0, len(values)-1
	for from < to {
		middle := values[from+(to-from)/2]
		up, down := from, to
		for up <= down {
			for values[up] < middle {
				up++
			}
			for middle < values[down] {
				down--
			}
			if up <= down {
				values[up], values[down] = values[down], values[up]
				up, down = up+1, down-1
			}
		}
		switch {
		case k <= down:
			to = down
		case k >= up:
			from = up
		default:
			return values[k]
		}
	}
	return values[k]
}

// place sets the key of items, which stand by falling importance and then
// rising evidence, to their zone and their layer. It reports that nothing is
// to be tested first.
func (a *arranger) place(items []int32, leastImportant, mostLittle int32) (noneFirst bool) {
	for z := range a.fronts {
		a.fronts[z] = a.fronts[z][:0]
	}
	var last [len(zones)][2]int32 // the last point of each zone; no level is 0
	var key [len(zones)]int32     // and its key
	var before [2]int32
	start := 0 // of those at this point
	for at, i := range items {
		point := [2]int32{a.importance.level[i], a.evidence.level[i]}
		if point != before {
			a.settleTies(items[start:at])
			before, start = point, at
		}
		// As zoneIndex says, without branches.
		z := 3 - 2*atMost(leastImportant, a.importance.fine[i]) - atMost(a.evidence.fine[i], mostLittle|a.doubt[i])
		if point != last[z] {
			key[z] = z*a.deepest + int32(a.fronts[z].add(point[1]))
			last[z] = point
		}
		a.key[i] = key[z]
	}
	a.settleTies(items[start:])
	return len(a.fronts[0]) == 0
}

// settleTies puts items of one point in the order of what tells them
// apart: more importance, then less evidence. Those that lean alike stay
// in the order of their ids, and no sort afterwards changes that. Nothing else
// has to be told apart: of two that are equally important, the less evident
// comes in an earlier layer.
func (a *arranger) settleTies(items []int32) {
	if len(items) > fewTies {
		a.sortTies(items)
		return
	}
	for at := 1; at < len(items); at++ {
		i, to := items[at], at
		for to > 0 && a.leansBefore(i, items[to-1]) {
			items[to] = items[to-1]
			to--
		}
		items[to] = i
	}
}

// fewTies are sorted by going through them, which takes the square of their number.
const fewTies = 32

// sortTies sorts many items of one point: by falling importance, eight bits of the lean
// at a time from the lowest, and then the few that lean alike there by their evidence.
func (a *arranger) sortTies(items []int32) {
	fine, spare := a.importance.fine, a.spare[:len(items)]
	for shift := 0; shift < leanBits; shift += 8 {
		var bins [256]int32
		for _, i := range items {
			bins[uint8(fine[i]>>shift)]++
		}
		start := int32(len(items))
		for k, count := range bins {
			start -= count
			bins[k] = start // the highest come first
		}
		copy(spare, items)
		for _, i := range spare {
			k := uint8(fine[i] >> shift)
			items[bins[k]] = i
			bins[k]++
		}
	}
	for from := 0; from < len(items); {
		to := from + 1
		for to < len(items) && fine[items[to]] == fine[items[from]] {
			to++
		}
		if alike := items[from:to]; len(alike) > 1 {
			slices.SortStableFunc(alike, func(i, j int32) int { return cmp.Compare(a.evidence.fine[i], a.evidence.fine[j]) })
		}
		from = to
	}
}

// leansBefore reports that i comes before j, which is at the same point.
func (a *arranger) leansBefore(i, j int32) bool {
	x, y := a.importance.fine[i], a.importance.fine[j]
	return x > y || x == y && a.evidence.fine[i] < a.evidence.fine[j]
}

// promote moves the first layer of what is important and not well known to the
// front: where nothing is known well, something is to be tested first. The
// layers of those left behind are found anew.
func (a *arranger) promote(items []int32) {
	const none = 1 << 30
	least, next := int32(none), a.fronts[1][:0]
	var last, lastLeft [2]int32
	var key int32
	for _, i := range items {
		at := [2]int32{a.importance.level[i], a.evidence.level[i]}
		switch {
		case a.key[i]/a.deepest != 1:
		case at[1] < a.evidence.upper && (at[1] < least || at == last):
			a.key[i], least, last = 0, at[1], at
		default:
			if at != lastLeft {
				key, lastLeft = a.deepest+int32(next.add(at[1])), at
			}
			a.key[i] = key
		}
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
	layer, end := 0, len(least)
	for layer < end { // written out, as every resample comes here for every item
		if middle := (layer + end) / 2; least[middle] > evidence {
			end = middle
		} else {
			layer = middle + 1
		}
	}
	if layer == len(least) {
		*f = append(least, evidence)
	} else {
		least[layer] = evidence
	}
	return layer
}

// A Doubt is why nobody can lean on evidence, whatever its median.
type Doubt string

// The doubts.
const (
	DoubtSplit Doubt = "split"
	DoubtThin  Doubt = "thin"
)
