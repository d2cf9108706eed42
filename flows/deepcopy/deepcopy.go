// Package deepcopy copies plain values so deeply that no change to the copy
// reaches the original. It owns nothing else; start with Of.
package deepcopy

import (
	"reflect"
	"time"
)

// Of copies v: structs of exported fields, slices, maps, arrays and pointers,
// down to the leaves; nil stays nil. It walks the value instead of naming
// fields: a field that somebody adds and forgets to copy would be a fault that
// no test notices for months.
func Of[T any](v T) T {
	var out T
	copyInto(reflect.ValueOf(&out).Elem(), reflect.ValueOf(&v).Elem())
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
