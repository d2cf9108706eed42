package flows

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/state"
)

// rewriting reports that expectations are to be written anew. The flag is the
// transcripts'.
func rewriting() bool { return flag.Lookup("rewrite").Value.String() == "true" }

// allEvents gives an empty event of every kind that can be decoded.
func allEvents(t *testing.T) []event.Event {
	t.Helper()
	var events []event.Event
	for _, name := range event.Kinds() {
		var r event.Record
		require.NoError(t, json.Unmarshal(fmt.Appendf(nil, `{"events":[{"kind":%q,"data":{}}]}`, name), &r), "decode an empty %s", name)
		e := r.Events[0]
		assert.Equal(t, name, event.KindOf(e), "the kind of an event decoded from %q", name)
		events = append(events, e)
	}
	slices.SortFunc(events, func(a, b event.Event) int { return strings.Compare(event.KindOf(a), event.KindOf(b)) })
	return events
}

// TestEveryEventIsDecoded finds an event that could be written and not read,
// and two that share a kind: the later would hide the earlier.
func TestEveryEventIsDecoded(t *testing.T) {
	decoded := map[string]bool{}
	for _, e := range allEvents(t) {
		decoded[reflect.TypeOf(e).Name()] = true
	}
	for name := range receivers(t, "event", "Apply", 3) {
		assert.True(t, decoded[name], "event %s is in no list of events, or shares its kind with another", name)
	}
}

// filled gives a value of type t with every field set, down to the leaves. n
// varies the values; two entries stand in each list and map.
func filled(t reflect.Type, n, depth int) reflect.Value {
	v := reflect.New(t).Elem()
	switch t {
	case reflect.TypeFor[time.Time]():
		v.Set(reflect.ValueOf(monday.Add(time.Duration(n)*time.Minute + 7)))
		return v
	case reflect.TypeFor[state.LocalDay]():
		v.SetString(fmt.Sprintf("2027-03-%02d", n%28+1))
		return v
	}
	switch t.Kind() {
	case reflect.String:
		v.SetString(fmt.Sprintf("text %d <&> \u2028 ü", n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt(int64(n%6 + 1))
	case reflect.Float64:
		v.SetFloat(float64(n) + 0.25)
	case reflect.Struct:
		for i := range t.NumField() {
			if !t.Field(i).IsExported() {
				continue
			}
			v.Field(i).Set(filled(t.Field(i).Type, n+i, depth+1))
		}
	case reflect.Array:
		for i := range t.Len() {
			v.Index(i).Set(filled(t.Elem(), n+i, depth+1))
		}
	case reflect.Pointer:
		v.Set(reflect.New(t.Elem()))
		v.Elem().Set(filled(t.Elem(), n, depth+1))
	case reflect.Slice:
		if depth > 8 { // a decision holds earlier decisions
			return v
		}
		v.Set(reflect.MakeSlice(t, 2, 2))
		for i := range 2 {
			v.Index(i).Set(filled(t.Elem(), n+i, depth+1))
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(t))
		for i := range 2 {
			v.SetMapIndex(filled(t.Key(), n+i, depth+1), filled(t.Elem(), n+i, depth+1))
		}
	default:
		panic("no filling for " + t.String())
	}
	return v
}

func TestEventsComeBackWhole(t *testing.T) {
	for _, e := range allEvents(t) {
		for _, want := range []event.Event{e, filled(reflect.TypeOf(e), 1, 0).Interface().(event.Event)} {
			r, err := reread(event.Record{At: monday, By: "ines", Events: []event.Event{want}})
			require.NoError(t, err, event.KindOf(e))
			require.True(t, r.At.Equal(monday), "%s: the record came back as %+v", event.KindOf(e), r)
			require.Equal(t, state.UserID("ines"), r.By, "%s: the record came back as %+v", event.KindOf(e), r)
			require.Len(t, r.Events, 1, "%s: the record came back as %+v", event.KindOf(e), r)
			assert.Empty(t, diff(r.Events[0], want), "%s came back changed", event.KindOf(e))
		}
	}
}

// Figures without a value are null in the journal, and come back undefined.
func TestUndefinedFiguresComeBack(t *testing.T) {
	want := event.WeeksCounted{Median: engine.Undefined(), IQR: engine.Undefined()}
	r, err := reread(event.Record{At: monday, Events: []event.Event{want}})
	require.NoError(t, err)
	got := r.Events[0]
	assert.True(t, same(got, want), "got %+v, want %+v", got, want)
}

// A release that took a newer one's entry for less than it says would fold to another state.
func TestWhatIsUnknownIsAnError(t *testing.T) {
	for name, data := range map[string]string{
		"a kind of a later release":  `{"at":"2027-03-01T09:00:00Z","events":[{"kind":"moved-to-mars","data":{}}]}`,
		"a field of another type":    `{"at":"2027-03-01T09:00:00Z","events":[{"kind":"weeks-voted","data":{"Weeks":"four"}}]}`,
		"a field of a later release": `{"at":"2027-03-01T09:00:00Z","events":[{"kind":"weeks-voted","data":{"Weeks":4,"Orbits":1}}]}`,
		"no data":                    `{"at":"2027-03-01T09:00:00Z","events":[{"kind":"weeks-voted"}]}`,
		"no record":                  `[]`,
	} {
		var r event.Record
		assert.Error(t, json.Unmarshal([]byte(data), &r), "%s: read as %+v, want an error", name, r)
	}
}

// TestJournalFormat holds the names of events and of their fields to those
// that are written down. A kind or a field may be added, with -rewrite; none
// may be renamed or given another meaning, since old journals hold it.
func TestJournalFormat(t *testing.T) {
	const file = "../testdata/flows/events.golden"
	var out strings.Builder
	for _, e := range allEvents(t) {
		fmt.Fprintf(&out, "%s\n", event.KindOf(e))
		writeFields(&out, "  ", filled(reflect.TypeOf(e), 1, 0).Interface())
	}
	if rewriting() {
		require.NoError(t, os.WriteFile(file, []byte(out.String()), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), out.String(), "the journal's format has changed. It is now")
}

// writeFields writes the names and types of the fields of v's JSON.
func writeFields(out *strings.Builder, indent string, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	var tree any
	if err := json.Unmarshal(data, &tree); err != nil {
		panic(err)
	}
	branch(out, indent, tree)
}

func branch(out *strings.Builder, indent string, tree any) {
	switch tree := tree.(type) {
	case map[string]any:
		var names []string
		for name := range tree {
			names = append(names, name)
		}
		slices.Sort(names)
		if len(names) > 0 && strings.HasPrefix(names[0], "text ") { // a map: its keys are data
			fmt.Fprintf(out, "%sfor each: %s\n", indent, jsonTypeOf(tree[names[0]]))
			branch(out, indent+"  ", tree[names[0]])
			return
		}
		for _, name := range names {
			fmt.Fprintf(out, "%s%s %s\n", indent, name, jsonTypeOf(tree[name]))
			branch(out, indent+"  ", tree[name])
		}
	case []any:
		branch(out, indent, tree[0])
	}
}

func jsonTypeOf(v any) string {
	switch v := v.(type) {
	case string:
		return "text"
	case bool:
		return "yes or no"
	case float64:
		return "number"
	case []any:
		return "list of " + jsonTypeOf(v[0])
	}
	return "fields"
}
