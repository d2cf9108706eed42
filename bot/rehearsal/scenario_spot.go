package rehearsal

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

// A spot is one place in a scenario: a value, or the place where one was left
// out. Reading it never fails: the first fault is kept in the reading, and
// whoever began the reading looks there at the end. What comes after a fault
// is read in vain, which is cheap.
type spot struct {
	in   *scenarioReading
	node *yaml.Node // nil when left out
	line int
	path string
}

// given reports whether there is a value. A null counts as left out.
func (s spot) given() bool { return s.node != nil && !nullNode(s.node) }

// wrong notes a fault here; only the first of a reading counts.
func (s spot) wrong(allowed, problem string, args ...any) {
	if s.in.fault != nil {
		return
	}
	s.in.fault = &ScenarioFault{File: s.in.file, Line: s.line, Path: s.path,
		Problem: fmt.Sprintf(problem, args...), Allowed: allowed}
}

// needed notes a fault when nothing is given here.
func (s spot) needed(allowed string) spot {
	if !s.given() {
		s.wrong(allowed, "missing")
	}
	return s
}

// is checks the kind of a value. An alias is refused, whatever it stands for:
// a scenario has to be readable from top to bottom.
func (s spot) is(kind yaml.Kind, allowed string) bool {
	switch {
	case !s.given():
		return false
	case s.node.Kind == yaml.AliasNode:
		s.wrong("the value written out", "aliases are not allowed")
		return false
	case s.node.Kind != kind:
		s.wrong(allowed, "%s is not allowed", shownNode(s.node))
		return false
	}
	return true
}

// A mapEntry is one pair of a mapping. The key stands for itself, so that a
// fault in it has its own line.
type mapEntry struct {
	name  string
	key   spot
	value spot
}

// entries reads a mapping in file order; keys are scalars, each given once.
func (s spot) entries(allowed string) []mapEntry {
	if !s.is(yaml.MappingNode, allowed) {
		return nil
	}
	var out []mapEntry
	first := map[string]int{}
	for i := 0; i+1 < len(s.node.Content); i += 2 {
		k, v := s.node.Content[i], s.node.Content[i+1]
		at := spot{in: s.in, node: k, line: k.Line, path: s.path}
		if k.Kind != yaml.ScalarNode {
			at.wrong("a plain name", "%s is not allowed as a key", shownNode(k))
			return nil
		}
		at.path = pathStep(s.path, k.Value)
		if line, twice := first[k.Value]; twice {
			at.wrong("each key once", "the key is given twice, first on line %d", line)
		}
		first[k.Value] = k.Line
		out = append(out, mapEntry{name: k.Value, key: at, value: spot{in: s.in, node: v, line: v.Line, path: at.path}})
	}
	return out
}

// A fieldSet is a mapping whose keys are known beforehand.
type fieldSet struct {
	at    spot
	named map[string]spot
}

// fields reads a mapping that may hold only the named keys.
func (s spot) fields(names ...string) fieldSet {
	r := fieldSet{at: s, named: map[string]spot{}}
	for _, e := range s.entries("a mapping with the keys " + strings.Join(names, ", ")) {
		if !slices.Contains(names, e.name) {
			e.key.wrong(anyOf(names), "the key %s is unknown", shortQuote(e.name))
		}
		r.named[e.name] = e.value
	}
	return r
}

// get is the value of a key, or the spot where it is missing.
func (r fieldSet) get(name string) spot {
	if s, ok := r.named[name]; ok {
		return s
	}
	return spot{in: r.at.in, line: r.at.line, path: pathStep(r.at.path, name)}
}

// list reads a sequence. Paths count from 1, as tests and wordings do.
func (s spot) list(allowed string) []spot {
	if !s.is(yaml.SequenceNode, allowed) {
		return nil
	}
	out := make([]spot, len(s.node.Content))
	for i, n := range s.node.Content {
		out[i] = spot{in: s.in, node: n, line: n.Line, path: fmt.Sprintf("%s[%d]", s.path, i+1)}
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
func (s spot) text() string { return s.textUpTo(formRunes) }

func (s spot) textUpTo(longest int) string {
	if !s.is(yaml.ScalarNode, "a text") {
		return ""
	}
	switch s.node.ShortTag() {
	case "!!str", "!!int", "!!float", "!!bool", "!!timestamp", "!!merge":
	default:
		s.wrong("a text", "the tag %s is not allowed", shortQuote(s.node.Tag))
	}
	if n := utf8.RuneCountInString(s.node.Value); n > longest {
		s.wrong(fmt.Sprintf("at most %d characters", longest), "a text of %d characters is too long", n)
	}
	return s.node.Value
}

// words reads a text that has to say something; allowed says what.
func (s spot) words(allowed string) string { return s.wordsUpTo(formRunes, allowed) }

// heading reads a text that has to say something and to fit one line.
func (s spot) heading(allowed string) string { return s.wordsUpTo(headingRunes, allowed) }

func (s spot) wordsUpTo(longest int, allowed string) string {
	t := s.needed(allowed).textUpTo(longest)
	if s.given() && strings.TrimSpace(t) == "" {
		s.wrong(allowed, "the text is empty")
	}
	return t
}

// whole reads a whole number from low to high; noun is what it counts.
func (s spot) whole(noun string, low, high, fallback int) int {
	return s.wholeOr(noun, low, high, fallback, fmt.Sprintf("a whole number from %d to %d", low, high))
}

func (s spot) wholeOr(noun string, low, high, fallback int, allowed string) int {
	if !s.is(yaml.ScalarNode, allowed) {
		return fallback
	}
	n, err := strconv.Atoi(s.node.Value)
	if err != nil || s.node.ShortTag() != "!!int" || n < low || n > high {
		s.wrong(allowed, "%s %s is not allowed", noun, shownNode(s.node))
		return fallback
	}
	return n
}

// number reads a number, fractions included, from low to high.
func (s spot) number(noun string, low, high, fallback float64) float64 {
	return s.numberOr(noun, low, high, fallback, fmt.Sprintf("a number from %g to %g", low, high))
}

func (s spot) numberOr(noun string, low, high, fallback float64, allowed string) float64 {
	if !s.is(yaml.ScalarNode, allowed) {
		return fallback
	}
	f, err := strconv.ParseFloat(s.node.Value, 64)
	if err != nil || !numberNode(s.node) || math.IsNaN(f) || f < low || f > high {
		s.wrong(allowed, "%s %s is not allowed", noun, shownNode(s.node))
		return fallback
	}
	return f
}

// choice reads one of a few words; left out it is empty.
func (s spot) choice(noun string, of []string) string {
	if !s.is(yaml.ScalarNode, anyOf(of)) {
		return ""
	}
	if !slices.Contains(of, s.node.Value) {
		s.wrong(anyOf(of), "%s %s is not allowed", noun, shownNode(s.node))
		return ""
	}
	return s.node.Value
}

func nullNode(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.ShortTag() == "!!null"
}

func numberNode(n *yaml.Node) bool {
	tag := n.ShortTag()
	return n.Kind == yaml.ScalarNode && (tag == "!!int" || tag == "!!float")
}
