package flows

import (
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/state"
)

// TestCloneSharesNothing changes everything that can be reached from a clone
// of a full state, and looks at the original.
func TestCloneSharesNothing(t *testing.T) {
	original := filled(reflect.TypeFor[state.Kickoff](), 1, 0).Interface().(state.Kickoff)
	twin := filled(reflect.TypeFor[state.Kickoff](), 1, 0).Interface().(state.Kickoff)
	require.True(t, same(original, twin), "two fillings differ, so this test says nothing")
	clone := deepCopy(original)
	require.Empty(t, diff(clone, original), "the clone differs")
	changed := spoil(reflect.ValueOf(&clone).Elem())
	assert.Empty(t, diff(original, twin), "changing a clone changed the original")
	assert.False(t, same(clone, twin), "only %d places of the clone were changed", changed)
	assert.GreaterOrEqual(t, changed, 100, "only %d places of the clone were changed", changed)
}

// spoil changes every leaf that can be reached from v, in place, and counts
// them.
func spoil(v reflect.Value) int {
	if v.Type() == reflect.TypeFor[time.Time]() {
		v.Set(reflect.ValueOf(v.Interface().(time.Time).Add(time.Hour)))
		return 1
	}
	n := 0
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if !v.Type().Field(i).IsExported() {
				continue
			}
			n += spoil(v.Field(i))
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			n += spoil(v.Index(i))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			n += spoil(v.Elem())
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			value := reflect.New(v.Type().Elem()).Elem()
			value.Set(v.MapIndex(key))
			n += spoil(value) // what the value shares with the original is changed there
			v.SetMapIndex(key, value)
		}
	case reflect.String:
		v.SetString(v.String() + ", changed")
		n++
	case reflect.Bool:
		v.SetBool(!v.Bool())
		n++
	case reflect.Int, reflect.Int64:
		v.SetInt(v.Int() + 1)
		n++
	case reflect.Float64:
		v.SetFloat(v.Float() + 1)
		n++
	}
	return n
}

// Nil stays nil, and empty stays empty: a snapshot tells them apart.
func TestCloneKeepsNilAndEmpty(t *testing.T) {
	for name, k := range map[string]state.Kickoff{
		"nil":   {},
		"empty": {Leads: []state.UserID{}, Posted: map[string]state.Posting{}, Rounds: []state.Round{{Ballots: map[state.UserID]map[string]state.Marking{"ines": {}}}}},
	} {
		assert.Empty(t, diff(deepCopy(k), k), "%s: the clone differs", name)
	}
}

// deepCopy copies v: the exported fields of structs, slices, maps, arrays and
// pointers, down to the leaves; nil stays nil. It walks the value instead of naming
// fields: a field that somebody adds and forgets to copy would be a fault that
// no test notices for months.
func deepCopy[T any](v T) T {
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
			if !src.Type().Field(i).IsExported() {
				continue
			}
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
