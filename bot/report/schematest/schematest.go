// Package schematest holds a JSON Schema to what it describes: documents that are
// right are valid, changed ones are not, and it says of each type what Go's tags say.
// The schemas stand in deploy/schema. Start with Read.
package schematest

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A Schema is one that was read.
type Schema struct {
	t        *testing.T
	folder   string
	name     string
	compiled *jsonschema.Schema
}

// Read reads a schema, which must itself be valid. root is the top of the repository.
func Read(t *testing.T, root, name string) *Schema {
	t.Helper()
	folder, err := filepath.Abs(filepath.Join(root, "deploy", "schema"))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	compiled, err := c.Compile(filepath.Join(folder, name))
	require.NoError(t, err)
	return &Schema{t, folder, name, compiled}
}

// node is a part of a schema, in its file.
type node struct {
	s     *Schema
	whole map[string]any
	at    map[string]any
}

func (s *Schema) file(name string) node {
	s.t.Helper()
	data, err := os.ReadFile(filepath.Join(s.folder, name))
	require.NoError(s.t, err)
	var tree map[string]any
	require.NoError(s.t, json.Unmarshal(data, &tree))
	return node{s, tree, tree}.followed()
}

// followed goes to where a reference leads. One of two that are allowed may be null.
func (n node) followed() node {
	if either, is := n.at["anyOf"].([]any); is {
		to := node{n.s, n.whole, either[0].(map[string]any)}.followed()
		to.at = maps.Clone(to.at)
		to.at["type"] = []any{to.at["type"], either[1].(map[string]any)["type"]}
		return to
	}
	ref, is := n.at["$ref"].(string)
	if !is {
		return n
	}
	if def, here := strings.CutPrefix(ref, "#/$defs/"); here {
		to, there := mapIn(n.whole, "$defs")[def].(map[string]any)
		require.True(n.s.t, there, "%s: %s is not there", n.s.name, ref)
		return node{n.s, n.whole, to}.followed()
	}
	return n.s.file(ref)
}

// inner is the part that is about a key, or about what is in a list.
func (n node) inner(key string) (node, bool) {
	of, there := mapIn(n.at, "properties")[key].(map[string]any)
	if !there {
		of, there = n.at[key].(map[string]any)
	}
	if !there {
		of, there = n.at["additionalProperties"].(map[string]any)
	}
	return node{n.s, n.whole, of}.followed(), there
}

func (n node) required() (keys []string) {
	list, _ := n.at["required"].([]any)
	for _, each := range list {
		keys = append(keys, each.(string))
	}
	slices.Sort(keys)
	return keys
}

// Takes checks that a document is valid.
func (s *Schema) Takes(data []byte) {
	s.t.Helper()
	require.NoError(s.t, s.compiled.Validate(decoded(s.t, data)), s.name)
}

// Holds checks that a document is valid, and that it is not once it is changed in
// any one place: with a further key in an object, without a key that must be there,
// or with a value of another kind.
func (s *Schema) Holds(data []byte) {
	s.t.Helper()
	s.Takes(data)
	changed := 0
	for _, change := range changes(s.file(s.name), decoded(s.t, data), "") {
		document := decoded(s.t, data)
		change.make(document)
		assert.Error(s.t, s.compiled.Validate(document), "%s: %s", s.name, change.what)
		changed++
	}
	require.Greater(s.t, changed, 1)
}

// Refuses checks that a document is not valid once one value in it is set. The path
// names keys; a list is entered at its first place.
func (s *Schema) Refuses(data []byte, value any, path ...string) {
	s.t.Helper()
	document := decoded(s.t, data)
	at := any(document)
	for _, key := range path[:len(path)-1] {
		for list, is := at.([]any); is; list, is = at.([]any) {
			at = list[0]
		}
		at = at.(map[string]any)[key]
	}
	for list, is := at.([]any); is; list, is = at.([]any) {
		at = list[0]
	}
	require.Contains(s.t, at, path[len(path)-1])
	at.(map[string]any)[path[len(path)-1]] = value
	assert.Error(s.t, s.compiled.Validate(document), "%s takes %v as %s", s.name, value, strings.Join(path, "."))
}

func decoded(t *testing.T, data []byte) any {
	t.Helper()
	document, err := jsonschema.UnmarshalJSON(strings.NewReader(string(data)))
	require.NoError(t, err)
	return document
}

// A change is made to a fresh copy of the document.
type change struct {
	what string
	make func(document any)
}

// changes lists what would make a value wrong.
func changes(n node, v any, path string) (all []change) {
	in := func(more []change, into func(any) any) {
		for _, c := range more {
			all = append(all, change{c.what, func(document any) { c.make(into(document)) }})
		}
	}
	switch v := v.(type) {
	case map[string]any:
		all = append(all, change{path + ": a further key", func(d any) { d.(map[string]any)["\x00"] = "something" }})
		for _, key := range slices.Sorted(maps.Keys(v)) {
			at := path + "." + key
			all = append(all, change{at + ": a list of lists", func(d any) { d.(map[string]any)[key] = []any{[]any{[]any{}}} }})
			if slices.Contains(n.required(), key) {
				all = append(all, change{at + ": left out", func(d any) { delete(d.(map[string]any), key) }})
			}
			if inner, there := n.inner(key); there {
				in(changes(inner, v[key], at), func(d any) any { return d.(map[string]any)[key] })
			}
		}
	case []any:
		inner, there := n.inner("items")
		if there && len(v) > 0 { // the others are held to the same
			in(changes(inner, v[0], path+"[]"), func(d any) any { return d.([]any)[0] })
		}
	}
	return all
}

// Says checks that the schema says of each key what the type of v says: which there
// are, which may be left out, and what kind of value each has. What it says besides,
// of ranges and of words that are allowed, stands in the schema alone.
func (s *Schema) Says(v any) {
	s.t.Helper()
	assert.Equal(s.t, outlineOf(reflect.TypeOf(v)), s.file(s.name).outline(), s.name)
}

// An outline is what a type and a schema can both say.
type outline struct {
	Types    []string
	Keys     map[string]outline
	Required []string
	Items    *outline // of a list, or the values of a map
}

func (n node) outline() (o outline) {
	switch types := n.at["type"].(type) {
	case string:
		o.Types = []string{types}
	case []any:
		for _, each := range types {
			o.Types = append(o.Types, each.(string))
		}
	}
	if keys := mapIn(n.at, "properties"); keys != nil {
		o.Keys, o.Required = map[string]outline{}, n.required()
		for key := range keys {
			inner, _ := n.inner(key)
			o.Keys[key] = inner.outline()
		}
	}
	for _, key := range []string{"items", "additionalProperties"} {
		if mapIn(n.at, key) != nil {
			items, _ := n.inner(key)
			inner := items.outline()
			o.Items = &inner
		}
	}
	return o
}

func mapIn(tree map[string]any, key string) map[string]any {
	m, _ := tree[key].(map[string]any)
	return m
}

// outlineOf reads a type. One that writes its own JSON may be null: a figure, a
// place, a zone.
func outlineOf(t reflect.Type) outline {
	writes := t.Implements(reflect.TypeFor[json.Marshaler]())
	switch kind := t.Kind(); {
	case t == reflect.TypeFor[time.Time]():
		return outline{Types: []string{"string"}}
	case kind == reflect.Pointer:
		o := outlineOf(t.Elem())
		if o.Types[len(o.Types)-1] != "null" {
			o.Types = append(o.Types, "null")
		}
		return o
	case writes && kind == reflect.Float64:
		return outline{Types: []string{"number", "null"}}
	case writes && kind == reflect.Int:
		return outline{Types: []string{"integer", "null"}}
	case writes && kind == reflect.String:
		return outline{Types: []string{"string", "null"}}
	case kind == reflect.Float64:
		return outline{Types: []string{"number"}}
	case kind == reflect.Int || kind == reflect.Int64 || kind == reflect.Uint64:
		return outline{Types: []string{"integer"}}
	case kind == reflect.Bool:
		return outline{Types: []string{"boolean"}}
	case kind == reflect.String:
		return outline{Types: []string{"string"}}
	case kind == reflect.Slice:
		items := outlineOf(t.Elem())
		return outline{Types: []string{"array"}, Items: &items}
	case kind == reflect.Map:
		items := outlineOf(t.Elem())
		return outline{Types: []string{"object"}, Items: &items}
	case kind == reflect.Struct:
		return fieldsOf(t)
	}
	panic("no schema says what a " + t.String() + " is")
}

func fieldsOf(t reflect.Type) outline {
	o := outline{Types: []string{"object"}, Keys: map[string]outline{}}
	for f := range t.Fields() {
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case name == "-":
			continue
		case f.Anonymous && name == "":
			inner := fieldsOf(f.Type)
			maps.Copy(o.Keys, inner.Keys)
			o.Required = append(o.Required, inner.Required...)
			continue
		}
		o.Keys[name] = outlineOf(f.Type)
		if !strings.Contains(options, "omit") {
			o.Required = append(o.Required, name)
		}
	}
	slices.Sort(o.Required)
	return o
}
