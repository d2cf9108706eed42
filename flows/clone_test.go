package flows

import (
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/deepcopy"
)

// TestCloneSharesNothing changes everything that can be reached from a clone
// of a full state, and looks at the original.
func TestCloneSharesNothing(t *testing.T) {
	original := filled(reflect.TypeFor[Kickoff](), 1, 0).Interface().(Kickoff)
	twin := filled(reflect.TypeFor[Kickoff](), 1, 0).Interface().(Kickoff)
	require.True(t, same(original, twin), "two fillings differ, so this test says nothing")
	clone := deepcopy.Of(original)
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
	for name, k := range map[string]Kickoff{
		"nil":   {},
		"empty": {Leads: []UserID{}, Posted: map[string]Posting{}, Rounds: []Round{{Ballots: map[UserID]map[string]Marking{"ines": {}}}}},
	} {
		assert.Empty(t, diff(deepcopy.Of(k), k), "%s: the clone differs", name)
	}
}
