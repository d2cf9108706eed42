package flows

// put sets m[key], making the map first where there is none.
func put[K comparable, V any](m *map[K]V, key K, value V) {
	if *m == nil {
		*m = map[K]V{}
	}
	(*m)[key] = value
}

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
