package scenario

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// A value is a node of the file with its path, or the place where one was
// left out. Reading a value never fails: the reader keeps the first fault and
// reads on, so that no reading function has to return an error.
type value struct {
	in   *reader
	node *yaml.Node // nil when left out
	line int
	path string
}

// given reports whether there is a value. A null counts as left out.
func (v value) given() bool { return v.node != nil && !nullNode(v.node) }

// wrong notes a fault here; only the first of a file counts.
func (v value) wrong(allowed, problem string, args ...any) {
	if v.in.fault == nil {
		v.in.fault = &Fault{File: v.in.file, Line: v.line, Path: v.path, Problem: fmt.Sprintf(problem, args...), Allowed: allowed}
	}
}

// needed notes a fault when nothing is given here.
func (v value) needed(allowed string) value {
	if !v.given() {
		v.wrong(allowed, "missing")
	}
	return v
}

// is checks the kind of a value. An alias is refused, whatever it stands for:
// a scenario has to be readable from top to bottom, and nested aliases can
// make a small file enormous.
func (v value) is(kind yaml.Kind, allowed string) bool {
	switch {
	case !v.given():
		return false
	case v.node.Kind == yaml.AliasNode:
		v.wrong("the value written out", "aliases are not allowed")
		return false
	case v.node.Kind != kind:
		v.wrong(allowed, "%s is not allowed", shown(v.node))
		return false
	}
	return true
}

// An entry is one pair of a mapping. The key is a value too: a fault in it
// has its own line.
type entry struct{ key, value value }

// entries reads a mapping in file order; keys are scalars, each given once.
func (v value) entries(allowed string) []entry {
	if !v.is(yaml.MappingNode, allowed) {
		return nil
	}
	var out []entry
	first := map[string]int{}
	for i := 0; i+1 < len(v.node.Content); i += 2 {
		k, inner := v.node.Content[i], v.node.Content[i+1]
		key := value{in: v.in, node: k, line: k.Line, path: v.path}
		if k.Kind != yaml.ScalarNode {
			key.wrong("a plain name", "%s is not allowed as a key", shown(k))
			return nil
		}
		key.path = join(v.path, k.Value)
		if line, twice := first[k.Value]; twice {
			key.wrong("each key once", "the key is given twice, first on line %d", line)
		}
		first[k.Value] = k.Line
		out = append(out, entry{key: key, value: value{in: v.in, node: inner, line: inner.Line, path: key.path}})
	}
	return out
}

// items reads a sequence. Paths count from 1, as tests and wordings do.
func (v value) items(allowed string) []value {
	if !v.is(yaml.SequenceNode, allowed) {
		return nil
	}
	out := make([]value, len(v.node.Content))
	for i, n := range v.node.Content {
		out[i] = value{in: v.in, node: n, line: n.Line, path: fmt.Sprintf("%s[%d]", v.path, i+1)}
	}
	return out
}

// A field is a key that a mapping may hold, and what becomes of its value.
type field struct {
	key  string
	take func(value)
}

// mapping reads a mapping that may hold only these keys, in their order. A
// field whose key is missing takes the place where it is missing.
func (v value) mapping(fields ...field) {
	var names []string
	for _, f := range fields {
		names = append(names, f.key)
	}
	values := map[string]value{}
	for _, e := range v.entries("a mapping with the keys " + strings.Join(names, ", ")) {
		if !slices.Contains(names, e.key.node.Value) {
			e.key.wrong(anyOf(names), "the key %s is unknown", quoted(e.key.node.Value))
		}
		values[e.key.node.Value] = e.value
	}
	for _, f := range fields {
		inner, ok := values[f.key]
		if !ok {
			inner = value{in: v.in, line: v.line, path: join(v.path, f.key)}
		}
		f.take(inner)
	}
}

// at is a field that one value fills.
func at[T any](key string, to *T, read func(value) T) field {
	return field{key, func(v value) { *to = read(v) }}
}

// optional is a field that stays nil when left out.
func optional[T any](key string, to **T, read func(value) T) field {
	return field{key, func(v value) {
		if v.given() {
			inner := read(v)
			*to = &inner
		}
	}}
}

// list is a field that a sequence fills, one after the other: reading an item
// can look at those before it.
func list[T any](key string, to *[]T, allowed string, read func(value) T) field {
	return field{key, func(v value) {
		for _, item := range v.items(allowed) {
			inner := read(item)
			*to = append(*to, inner)
		}
	}}
}

// section is a field that is a mapping of further fields.
func section(key string, fields ...field) field {
	return field{key, func(v value) { v.mapping(fields...) }}
}

// mappingOf reads a mapping whose keys name something of the scenario.
func mappingOf[T any](allowed string, name func(value) string, read func(value) T) func(value) map[string]T {
	return func(v value) map[string]T {
		out := map[string]T{}
		for _, e := range v.entries(allowed) {
			out[name(e.key)] = read(e.value)
		}
		return out
	}
}

// needed is for what has to be given.
func needed[T any](allowed string, read func(value) T) func(value) T {
	return func(v value) T { return read(v.needed(allowed)) }
}

// or is for what may be left out.
func or[T any](fallback *T, read func(value) T) func(value) T {
	return func(v value) T {
		if !v.given() {
			return *fallback
		}
		return read(v)
	}
}

// The longest texts that people can give, in characters: what one form field
// of the chat platform takes, and what a heading of it holds.
const (
	formRunes    = 3000
	headingRunes = 150
)

// text reads any scalar as it was written; left out it is empty.
func (v value) text() string { return v.textUpTo(formRunes) }

func (v value) textUpTo(longest int) string {
	if !v.is(yaml.ScalarNode, "a text") {
		return ""
	}
	switch v.node.ShortTag() {
	case "!!str", "!!int", "!!float", "!!bool", "!!timestamp", "!!merge":
	default:
		v.wrong("a text", "the tag %s is not allowed", quoted(v.node.Tag))
	}
	if n := utf8.RuneCountInString(v.node.Value); n > longest {
		v.wrong(fmt.Sprintf("at most %d characters", longest), "a text of %d characters is too long", n)
	}
	return v.node.Value
}

// words reads a text that has to be given; allowed says what it is.
func words(allowed string) func(value) string { return wordsUpTo(formRunes, allowed) }

// heading reads a text that has to be given and to fit one line.
func heading(allowed string) func(value) string { return wordsUpTo(headingRunes, allowed) }

func wordsUpTo(longest int, allowed string) func(value) string {
	return func(v value) string {
		t := v.needed(allowed).textUpTo(longest)
		if v.given() && strings.TrimSpace(t) == "" {
			v.wrong(allowed, "the text is empty")
		}
		return t
	}
}

// plainName is what keys of people and ids of assumptions look like.
var plainName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]{0,39}$`)

const plainNameAllowed = "a letter, then up to 39 letters, digits, - or _"

func (v value) mustBePlain(name, noun string) {
	if !plainName.MatchString(name) {
		v.wrong(plainNameAllowed, "%s is not allowed as the %s", quoted(name), noun)
	}
}

// choice reads one of a few words, which has to be given.
func choice(noun string, of []string) func(value) string {
	return func(v value) string { return v.needed(anyOf(of)).choice(noun, of, "") }
}

func (v value) choice(noun string, of []string, fallback string) string {
	if !v.is(yaml.ScalarNode, anyOf(of)) {
		return fallback
	}
	if !slices.Contains(of, v.node.Value) {
		v.wrong(anyOf(of), "%s %s is not allowed", noun, shown(v.node))
		return fallback
	}
	return v.node.Value
}

// number reads a number from low to high; noun is what it counts.
func number(noun string, low, high, fallback float64) func(value) float64 {
	return numberAs(fmt.Sprintf("a number from %g to %g", low, high), noun, low, high, fallback)
}

// whole reads a number without fractions.
func whole(noun string, low, high, fallback int) func(value) int {
	return numberAs(fmt.Sprintf("a whole number from %d to %d", low, high), noun, low, high, fallback)
}

func numberAs[T int | float64](allowed, noun string, low, high, fallback T) func(value) T {
	_, noFractions := any(low).(int)
	return func(v value) T {
		if !v.is(yaml.ScalarNode, allowed) {
			return fallback
		}
		f, err := strconv.ParseFloat(v.node.Value, 64)
		right := numberNode(v.node) && (!noFractions || v.node.ShortTag() == "!!int")
		if err != nil || !right || math.IsNaN(f) || f < float64(low) || f > float64(high) {
			v.wrong(allowed, "%s %s is not allowed", noun, shown(v.node))
			return fallback
		}
		return T(f)
	}
}

// numberOf reads the number of one of so many things, which has to be given.
func (v value) numberOf(noun string, count int, none, allowed string) int {
	if count == 0 {
		allowed = none
	} else {
		allowed += " from 1 to " + strconv.Itoa(count)
	}
	return needed(allowed, numberAs(allowed, noun, 1, count, 0))(v)
}

// person reads the key of somebody who takes part.
func (v value) person() string {
	key := v.needed("the key of a person").text()
	if _, known := v.in.s.Person(key); v.given() && !known {
		var keys []string
		for _, p := range v.in.s.People {
			keys = append(keys, p.Key)
		}
		v.wrong(anyOf(keys), "there is no person %s", quoted(key))
	}
	return key
}

// speaker reads the key of somebody who answers in stage.
func speaker(stage string) func(value) string {
	return func(v value) string {
		key := v.person()
		v.mustNotBeSilent(key, stage)
		return key
	}
}

func (v value) mustNotBeSilent(key, stage string) {
	if p, ok := v.in.s.Person(key); ok && p.SilentIn(stage) {
		v.wrong("leave the answer out, or take "+stage+" out of people."+key+".silent", "%s is silent in %s", key, stage)
	}
}

// assumption reads the id of an assumption.
func (v value) assumption() string {
	id := v.needed("the id of an assumption").text()
	var ids []string
	for _, a := range v.in.s.Assumptions {
		ids = append(ids, a.ID)
	}
	if v.given() && !slices.Contains(ids, id) {
		v.wrong(anyOf(ids), "there is no assumption %s", quoted(id))
	}
	return id
}

// perPerson reads a mapping from people to their answers in stage.
func perPerson[T any](stage string, read func(value) T) func(value) map[string]T {
	return mappingOf("a mapping of people to their answers", speaker(stage), read)
}

// perAssumption reads a mapping from assumptions to something.
func perAssumption[T any](read func(value) T) func(value) map[string]T {
	return mappingOf("a mapping of assumptions", value.assumption, read)
}

func nullNode(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.ShortTag() == "!!null"
}

func numberNode(n *yaml.Node) bool {
	tag := n.ShortTag()
	return n.Kind == yaml.ScalarNode && (tag == "!!int" || tag == "!!float")
}
