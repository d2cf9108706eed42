package flows

import "slices"

// keep lists those of all that are wanted; nil when none is.
func keep[T any](all []T, wanted func(T) bool) []T {
	var out []T
	for _, each := range all {
		if wanted(each) {
			out = append(out, each)
		}
	}
	return out
}

// find gives the first of all that is wanted.
func find[T any](all []T, wanted func(T) bool) (found T, ok bool) {
	if i := slices.IndexFunc(all, wanted); i >= 0 {
		return all[i], true
	}
	return found, false
}

// has reports whether m has a value for key.
func has[K comparable, V any](m map[K]V, key K) bool {
	_, ok := m[key]
	return ok
}

// nth is the entry of a list that has the number n, from 1; nil when there is none.
func nth[T any](list []T, n int) *T {
	if n < 1 || n > len(list) {
		return nil
	}
	return &list[n-1]
}
