package engine

import "cmp"

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
