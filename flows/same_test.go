package flows

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"time"
)

// same reports whether two values are alike down to the last field. Unlike
// reflect.DeepEqual it takes two undefined figures (NaN) as alike, and two
// times that name one instant; nil and empty maps and lists differ.
func same(a, b any) bool { return diff(a, b) == "" }

// diff names the fields in which two values differ; empty when in none.
func diff(a, b any) string {
	var out strings.Builder
	compare(&out, "", reflect.ValueOf(a), reflect.ValueOf(b))
	return out.String()
}

func compare(out *strings.Builder, at string, a, b reflect.Value) {
	if a.IsValid() != b.IsValid() || a.IsValid() && a.Type() != b.Type() {
		fmt.Fprintf(out, "%s: %v and %v\n", at, a, b)
		return
	}
	if !a.IsValid() {
		return
	}
	if x, isTime := a.Interface().(time.Time); isTime {
		if y := b.Interface().(time.Time); !x.Equal(y) {
			fmt.Fprintf(out, "%s: %v and %v\n", at, x, y)
		}
		return
	}
	switch a.Kind() {
	case reflect.Struct:
		for i := range a.NumField() {
			if !a.Type().Field(i).IsExported() {
				continue // what a state remembers for speed is not part of it
			}
			compare(out, at+"."+a.Type().Field(i).Name, a.Field(i), b.Field(i))
		}
	case reflect.Slice, reflect.Map, reflect.Pointer, reflect.Interface:
		compareShared(out, at, a, b)
	case reflect.Array:
		for i := range a.Len() {
			compare(out, fmt.Sprintf("%s[%d]", at, i), a.Index(i), b.Index(i))
		}
	case reflect.Float64, reflect.Float32:
		if x, y := a.Float(), b.Float(); x != y && !(math.IsNaN(x) && math.IsNaN(y)) {
			fmt.Fprintf(out, "%s: %v and %v\n", at, x, y)
		}
	default:
		if !a.Equal(b) {
			fmt.Fprintf(out, "%s: %v and %v\n", at, a, b)
		}
	}
}

func compareShared(out *strings.Builder, at string, a, b reflect.Value) {
	if a.IsNil() || b.IsNil() {
		if a.IsNil() != b.IsNil() {
			fmt.Fprintf(out, "%s: %#v and %#v\n", at, a, b)
		}
		return
	}
	switch a.Kind() {
	case reflect.Pointer, reflect.Interface:
		compare(out, at, a.Elem(), b.Elem())
		return
	}
	if a.Len() != b.Len() {
		fmt.Fprintf(out, "%s: %v and %v\n", at, a, b)
		return
	}
	if a.Kind() == reflect.Slice {
		for i := range a.Len() {
			compare(out, fmt.Sprintf("%s[%d]", at, i), a.Index(i), b.Index(i))
		}
		return
	}
	for each := a.MapRange(); each.Next(); {
		compare(out, fmt.Sprintf("%s[%v]", at, each.Key()), each.Value(), b.MapIndex(each.Key()))
	}
}
