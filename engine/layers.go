package engine

import (
	"cmp"
	"slices"
)

// A Point is a place on the map. Both values must be numbers.
type Point struct{ Importance, Evidence float64 }

// Layers gives the non-dominated layer of every point, counted from 1. A point
// dominates another when it is at least as important and has at most as much
// evidence, and is strictly ahead in one of the two. Layer 1 holds the points
// that none dominates, layer 2 those that are left undominated without layer 1,
// and so on; equal points share a layer.
//
// The two ratings are ordinal, so they are never multiplied or added: layers
// stay as they are under any recoding of a scale that keeps its order, and
// products do not (Stevens S.S. 1946, Science 103, 677-680).
//
// It takes O(n log n) where the usual way, comparing every pair, takes O(n²)
// (Deb K. et al. 2002, IEEE Transactions on Evolutionary Computation 6(2),
// 182-197): layer = 1 + the longest chain of dominators, and among two
// criteria that is a longest monotone run, found by patience sorting.
func Layers(points []Point) []int {
	order := make([]int, len(points))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return comparePoints(points[a], points[b]) })

	layers := make([]int, len(points))
	var f front[float64]
	for place, i := range order {
		if place > 0 && points[i] == points[order[place-1]] {
			layers[i] = layers[order[place-1]]
			continue
		}
		layers[i] = 1 + f.add(points[i].Evidence)
	}
	return layers
}

// comparePoints puts the more important first and, among equally important
// points, the one with less evidence. No point is then dominated by a later
// one.
func comparePoints(a, b Point) int {
	return cmp.Or(cmp.Compare(b.Importance, a.Importance), cmp.Compare(a.Evidence, b.Evidence))
}

// A front holds the least evidence found in each layer, from the first on. It
// never falls from layer to layer: whatever stands in a layer is dominated by
// something in the layer before.
type front[T cmp.Ordered] []T

// add finds the layer, counted from 0, of the next point in the order of
// comparePoints, which must differ from the one before. All points so far are
// at least as important, so a layer dominates the new point exactly when its
// least evidence is no more than the point's.
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
