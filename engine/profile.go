package engine

import (
	"cmp"
	"math"
	"slices"
)

// A profile is a bag of features, tokens or stretches of letters, each with
// its weight: a sparse vector in the order of its keys, without zeros.
type profile []feature

type feature struct {
	key    uint64
	weight float64
}

// newProfile sorts features and adds up those with the same key.
func newProfile(features []feature) profile {
	slices.SortFunc(features, func(a, b feature) int { return cmp.Compare(a.key, b.key) })
	out := features[:0]
	for _, f := range features {
		if n := len(out); n > 0 && out[n-1].key == f.key {
			out[n-1].weight += f.weight
			continue
		}
		out = append(out, f)
	}
	return out
}

// dot is the inner product of two profiles.
func (p profile) dot(q profile) float64 {
	sum := 0.0
	for i, j := 0, 0; i < len(p) && j < len(q); {
		switch {
		case p[i].key < q[j].key:
			i++
		case p[i].key > q[j].key:
			j++
		default:
			sum += p[i].weight * q[j].weight
			i, j = i+1, j+1
		}
	}
	return sum
}

// shared counts the keys that two profiles have in common.
func (p profile) shared(q profile) int {
	n := 0
	for i, j := 0, 0; i < len(p) && j < len(q); {
		switch {
		case p[i].key < q[j].key:
			i++
		case p[i].key > q[j].key:
			j++
		default:
			n++
			i, j = i+1, j+1
		}
	}
	return n
}

// has reports whether p has a feature with the given key.
func (p profile) has(key uint64) bool {
	_, ok := slices.BinarySearchFunc(p, key, func(f feature, k uint64) int { return cmp.Compare(f.key, k) })
	return ok
}

// scaled brings p to Euclidean length 1, so that the dot of two profiles is
// the cosine between them.
func (p profile) scaled() profile {
	length := math.Sqrt(p.dot(p))
	for i := range p {
		p[i].weight /= length
	}
	return p
}

// bothEmpty is the likeness of two profiles of which one or both are empty: 1
// for two of them, by convention, and else 0.
func bothEmpty(p, q profile) float64 {
	if len(p) == len(q) {
		return 1
	}
	return 0
}

// keyOf hashes runes (64-bit FNV-1a, a rune at a time).
func keyOf(runes []rune) uint64 {
	h := uint64(14695981039346656037)
	for _, r := range runes {
		h = (h ^ uint64(r)) * 1099511628211
	}
	return h
}

// grams lists all stretches of n runes in s, each with the given weight.
func grams(s []rune, n int, weight float64) []feature {
	var out []feature
	for i := 0; i+n <= len(s); i++ {
		out = append(out, feature{keyOf(s[i : i+n]), weight})
	}
	return out
}
