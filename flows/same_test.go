package flows

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"sync"
	"time"
)

// same reports whether two values are alike down to the last field. Unlike
// reflect.DeepEqual it takes two undefined figures (NaN) as alike, and two
// times that name one instant; nil and empty maps and lists differ.
func same(a, b any) bool { return diff(a, b) == "" }

// diff names the fields in which two values differ; empty when in none.
func diff(a, b any) string {
	var d differ
	d.compare(reflect.ValueOf(a), reflect.ValueOf(b))
	return d.out.String()
}

// diffWritten is diff for what was written and read again: what is left out where
// it is empty comes back as none.
func diffWritten(a, b any) string {
	d := differ{nilEmpty: true}
	d.compare(reflect.ValueOf(a), reflect.ValueOf(b))
	return d.out.String()
}

// A differ compares two values, and puts the way to a field into words only where
// they differ: whole states are compared after each of many thousand events.
type differ struct {
	out      strings.Builder
	way      []any // names of fields, numbers, keys
	nilEmpty bool  // whether an empty list or map is like none
}

func (d *differ) say(a, b any) {
	for _, step := range d.way {
		if name, isField := step.(string); isField {
			fmt.Fprintf(&d.out, ".%s", name)
		} else {
			fmt.Fprintf(&d.out, "[%v]", step)
		}
	}
	fmt.Fprintf(&d.out, ": %v and %v\n", a, b)
}

// inside compares what lies at one step further on.
func (d *differ) inside(step any, a, b reflect.Value) {
	d.way = append(d.way, step)
	d.compare(a, b)
	d.way = d.way[:len(d.way)-1]
}

var instant = reflect.TypeFor[time.Time]()

func (d *differ) compare(a, b reflect.Value) {
	if a.IsValid() != b.IsValid() || a.IsValid() && a.Type() != b.Type() {
		d.say(a, b)
		return
	}
	if !a.IsValid() {
		return
	}
	if a.Type() == instant {
		if x, y := a.Interface().(time.Time), b.Interface().(time.Time); !x.Equal(y) {
			d.say(x, y)
		}
		return
	}
	switch a.Kind() {
	case reflect.Struct:
		for i, name := range fieldsOf(a.Type()) {
			if name != "" {
				d.inside(name, a.Field(i), b.Field(i))
			}
		}
	case reflect.Slice, reflect.Map, reflect.Pointer, reflect.Interface:
		d.compareShared(a, b)
	case reflect.Array:
		for i := range a.Len() {
			d.inside(i, a.Index(i), b.Index(i))
		}
	case reflect.Float64, reflect.Float32:
		if x, y := a.Float(), b.Float(); x != y && !(math.IsNaN(x) && math.IsNaN(y)) {
			d.say(x, y)
		}
	default:
		if !a.Equal(b) {
			d.say(a, b)
		}
	}
}

func (d *differ) compareShared(a, b reflect.Value) {
	if a.IsNil() || b.IsNil() {
		if a.IsNil() != b.IsNil() && !(d.nilEmpty && isEmpty(a) && isEmpty(b)) {
			d.say(fmt.Sprintf("%#v", a), fmt.Sprintf("%#v", b))
		}
		return
	}
	switch a.Kind() {
	case reflect.Pointer, reflect.Interface:
		d.compare(a.Elem(), b.Elem())
		return
	}
	if a.Len() != b.Len() {
		d.say(a, b)
		return
	}
	if a.Kind() == reflect.Slice {
		for i := range a.Len() {
			d.inside(i, a.Index(i), b.Index(i))
		}
		return
	}
	for each := a.MapRange(); each.Next(); {
		d.inside(each.Key(), each.Value(), b.MapIndex(each.Key()))
	}
}

// fieldsByType keeps what fieldsOf has found out.
var fieldsByType sync.Map

// fieldsOf are the names of the fields of a struct; empty for those that are not
// exported: what a state remembers for speed is not part of it.
func fieldsOf(t reflect.Type) []string {
	if known, ok := fieldsByType.Load(t); ok {
		return known.([]string)
	}
	names := make([]string, t.NumField())
	for i := range names {
		if f := t.Field(i); f.IsExported() {
			names[i] = f.Name
		}
	}
	fieldsByType.Store(t, names)
	return names
}

// isEmpty reports whether a value is a list or a map with nothing in it.
func isEmpty(v reflect.Value) bool {
	return (v.Kind() == reflect.Slice || v.Kind() == reflect.Map) && v.Len() == 0
}
