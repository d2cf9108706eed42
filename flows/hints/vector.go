package hints

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// A vector is a bag of words or of stretches of letters with their weights, in
// the order of its keys, so that sums never depend on the order of a map.
type vector []feature

type feature struct {
	key    string
	weight float64
}

// newVector sorts features, adds up those with the same key, and scales the
// vector to length 1, so that the dot of two is the cosine between them.
func newVector(features []feature) vector {
	slices.SortStableFunc(features, func(a, b feature) int { return strings.Compare(a.key, b.key) })
	var v vector
	for _, f := range features {
		if n := len(v); n > 0 && v[n-1].key == f.key {
			v[n-1].weight += f.weight
			continue
		}
		v = append(v, f)
	}
	length := math.Sqrt(v.dot(v))
	for i := range v {
		v[i].weight /= length
	}
	return v
}

// dot is the inner product of two vectors.
func (v vector) dot(w vector) float64 {
	sum := 0.0
	for i, j := 0, 0; i < len(v) && j < len(w); {
		switch c := cmp.Compare(v[i].key, w[j].key); {
		case c < 0:
			i++
		case c > 0:
			j++
		default:
			sum += v[i].weight * w[j].weight
			i, j = i+1, j+1
		}
	}
	return sum
}

// has reports whether v has a key.
func (v vector) has(key string) bool {
	_, ok := slices.BinarySearchFunc(v, key, func(f feature, k string) int { return strings.Compare(f.key, k) })
	return ok
}

// grams lists all stretches of n letters of s, each with a weight.
func grams(s string, n int, weight float64) []feature {
	var out []feature
	letters := []rune(s)
	for i := 0; i+n <= len(letters); i++ {
		out = append(out, feature{string(letters[i : i+n]), weight})
	}
	return out
}
