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

// simpleName is what keys of people and ids of assumptions look like.
var simpleName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]{0,39}$`)

const simpleNameAllowed = "a letter, then up to 39 letters, digits, - or _"

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

// fields reads a mapping that may hold only the named keys. The function that
// it returns gives the value of a key, or the place where it is missing.
func (v value) fields(names ...string) func(name string) value {
	named := map[string]value{}
	for _, e := range v.entries("a mapping with the keys " + strings.Join(names, ", ")) {
		if !slices.Contains(names, e.key.node.Value) {
			e.key.wrong(anyOf(names), "the key %s is unknown", quoted(e.key.node.Value))
		}
		named[e.key.node.Value] = e.value
	}
	return func(name string) value {
		if field, ok := named[name]; ok {
			return field
		}
		return value{in: v.in, line: v.line, path: join(v.path, name)}
	}
}

// list reads a sequence. Paths count from 1, as tests and wordings do.
func (v value) list(allowed string) []value {
	if !v.is(yaml.SequenceNode, allowed) {
		return nil
	}
	out := make([]value, len(v.node.Content))
	for i, n := range v.node.Content {
		out[i] = value{in: v.in, node: n, line: n.Line, path: fmt.Sprintf("%s[%d]", v.path, i+1)}
	}
	return out
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
func (v value) words(allowed string) string { return v.wordsUpTo(formRunes, allowed) }

// heading reads a text that has to be given and to fit one line.
func (v value) heading(allowed string) string { return v.wordsUpTo(headingRunes, allowed) }

func (v value) wordsUpTo(longest int, allowed string) string {
	t := v.needed(allowed).textUpTo(longest)
	if v.given() && strings.TrimSpace(t) == "" {
		v.wrong(allowed, "the text is empty")
	}
	return t
}

// whole reads a whole number from low to high; noun is what it counts.
func (v value) whole(noun string, low, high, fallback int) int {
	return v.wholeOr(noun, low, high, fallback, fmt.Sprintf("a whole number from %d to %d", low, high))
}

func (v value) wholeOr(noun string, low, high, fallback int, allowed string) int {
	if !v.is(yaml.ScalarNode, allowed) {
		return fallback
	}
	n, err := strconv.Atoi(v.node.Value)
	if err != nil || v.node.ShortTag() != "!!int" || n < low || n > high {
		v.wrong(allowed, "%s %s is not allowed", noun, shown(v.node))
		return fallback
	}
	return n
}

// number reads a number, fractions included, from low to high.
func (v value) number(noun string, low, high, fallback float64) float64 {
	return v.numberOr(noun, low, high, fallback, fmt.Sprintf("a number from %g to %g", low, high))
}

func (v value) numberOr(noun string, low, high, fallback float64, allowed string) float64 {
	if !v.is(yaml.ScalarNode, allowed) {
		return fallback
	}
	f, err := strconv.ParseFloat(v.node.Value, 64)
	if err != nil || !numberNode(v.node) || math.IsNaN(f) || f < low || f > high {
		v.wrong(allowed, "%s %s is not allowed", noun, shown(v.node))
		return fallback
	}
	return f
}

// choice reads one of a few words, which has to be given.
func (v value) choice(noun string, of []string) string {
	return v.needed(anyOf(of)).choiceOr(noun, of, "")
}

func (v value) choiceOr(noun string, of []string, fallback string) string {
	if !v.is(yaml.ScalarNode, anyOf(of)) {
		return fallback
	}
	if !slices.Contains(of, v.node.Value) {
		v.wrong(anyOf(of), "%s %s is not allowed", noun, shown(v.node))
		return fallback
	}
	return v.node.Value
}

func nullNode(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.ShortTag() == "!!null"
}

func numberNode(n *yaml.Node) bool {
	tag := n.ShortTag()
	return n.Kind == yaml.ScalarNode && (tag == "!!int" || tag == "!!float")
}
