package flows

import (
	"reflect"
	"time"
)

// clone copies k so deeply that no change to the copy reaches k. It walks
// the value instead of naming fields: a field that somebody adds and forgets
// to copy would be a fault that no test notices for months.
func (k *Kickoff) clone() Kickoff {
	var out Kickoff
	copyInto(reflect.ValueOf(&out).Elem(), reflect.ValueOf(k).Elem())
	return out
}

func copyInto(dst, src reflect.Value) {
	switch src.Kind() {
	case reflect.Struct:
		if src.Type() == reflect.TypeFor[time.Time]() {
			dst.Set(src)
			return
		}
		for i := range src.NumField() {
			copyInto(dst.Field(i), src.Field(i))
		}
	case reflect.Slice:
		if src.IsNil() {
			return
		}
		dst.Set(reflect.MakeSlice(src.Type(), src.Len(), src.Len()))
		for i := range src.Len() {
			copyInto(dst.Index(i), src.Index(i))
		}
	case reflect.Map:
		copyMap(dst, src)
	case reflect.Pointer:
		if src.IsNil() {
			return
		}
		dst.Set(reflect.New(src.Type().Elem()))
		copyInto(dst.Elem(), src.Elem())
	case reflect.Array:
		for i := range src.Len() {
			copyInto(dst.Index(i), src.Index(i))
		}
	default:
		dst.Set(src)
	}
}

func copyMap(dst, src reflect.Value) {
	if src.IsNil() {
		return
	}
	dst.Set(reflect.MakeMapWithSize(src.Type(), src.Len()))
	for each := src.MapRange(); each.Next(); {
		value := reflect.New(src.Type().Elem()).Elem()
		copyInto(value, each.Value())
		dst.SetMapIndex(each.Key(), value)
	}
}

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
