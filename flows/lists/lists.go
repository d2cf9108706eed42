// Package lists has what package slices and maps lack and the rules of a kickoff
// need at every turn.
package lists

import "slices"

// Keep lists those of all that are wanted; nil when none is.
func Keep[T any](all []T, wanted func(T) bool) []T {
	var out []T
	for _, each := range all {
		if wanted(each) {
			out = append(out, each)
		}
	}
	return out
}

// Find gives the first of all that is wanted.
func Find[T any](all []T, wanted func(T) bool) (found T, ok bool) {
	if i := slices.IndexFunc(all, wanted); i >= 0 {
		return all[i], true
	}
	return found, false
}

// Has reports whether m has a value for key.
func Has[K comparable, V any](m map[K]V, key K) bool {
	_, ok := m[key]
	return ok
}

// Nth is the entry of a list that has the number n, from 1; nil when there is none.
func Nth[T any](list []T, n int) *T {
	if n < 1 || n > len(list) {
		return nil
	}
	return &list[n-1]
}
