package scenario

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// A value is a node of the file with its path, or the place where one was
// left out. Reading a value never fails: the reader keeps the first fault and
// reads on, so that no reading function has to return an error.
type value struct {
	in     *reader
	node   *yaml.Node // nil when left out
	line   int
	path   string
	before any // of an item: the slice of those before it in its list
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

// mapping reads a mapping that may hold only these keys. A key that is missing
// has the place where it is missing.
func (v value) mapping(keys ...string) map[string]value {
	values := map[string]value{}
	for _, key := range keys {
		values[key] = value{in: v.in, line: v.line, path: join(v.path, key)}
	}
	for _, e := range v.entries("a mapping with the keys " + strings.Join(keys, ", ")) {
		if key := e.key.node.Value; !slices.Contains(keys, key) {
			e.key.wrong(anyOf(keys), "the key %s is unknown", quoted(key))
		}
		values[e.key.node.Value] = e.value
	}
	return values
}

// A custom type reads itself.
type custom interface{ read(v value) }

// into reads the value into a field of a Scenario with that tag. keys are the
// rules of its keys where it is a mapping, those of inner mappings after them.
func (v value) into(to reflect.Value, tag reflect.StructTag, keys []string) {
	own, isCustom := to.Addr().Interface().(custom)
	fallback, optional := tag.Lookup("or")
	rule, args, _ := strings.Cut(tag.Get("is"), " ")
	switch kind := to.Kind(); {
	case isCustom:
		own.read(v)
	case kind == reflect.Pointer:
		if v.given() {
			to.Set(reflect.New(to.Type().Elem()))
			v.into(to.Elem(), tag, keys)
		}
	case kind == reflect.Slice:
		for _, item := range v.items("a list of " + tag.Get("list")) {
			item.before = to.Interface()
			one := reflect.New(to.Type().Elem()).Elem()
			item.into(one, tag, keys)
			to.Set(reflect.Append(to, one))
		}
	case kind == reflect.Map:
		v.intoMap(to, tag, keys)
	case kind == reflect.Struct && rule == "":
		v.intoStruct(to)
	case optional && !v.given():
		_ = yaml.Unmarshal([]byte(fallback), to.Addr().Interface()) // the tags are right
	default:
		to.Set(reflect.ValueOf(rules[rule](v, args)))
	}
}

// intoStruct reads a mapping with a key for every field, in their order.
func (v value) intoStruct(to reflect.Value) {
	fields := slices.DeleteFunc(reflect.VisibleFields(to.Type()), func(f reflect.StructField) bool { return f.Tag.Get("is") == "-" })
	var names []string
	for _, f := range fields {
		names = append(names, keyOf(f))
	}
	values := v.mapping(names...)
	for i, f := range fields {
		values[names[i]].into(to.FieldByIndex(f.Index), f.Tag, strings.Split(f.Tag.Get("keys"), ", "))
	}
}

// intoMap reads a mapping whose keys name something of the scenario.
func (v value) intoMap(to reflect.Value, tag reflect.StructTag, keys []string) {
	to.Set(reflect.MakeMap(to.Type()))
	rule, args, _ := strings.Cut(keys[0], " ")
	for _, e := range v.entries("a mapping of " + keyed[rule]) {
		key := rules[rule](e.key, args)
		one := reflect.New(to.Type().Elem()).Elem()
		e.value.into(one, tag, keys[1:])
		to.SetMapIndex(reflect.ValueOf(key), one)
	}
}

// keyed says what a mapping holds whose keys go by a rule.
var keyed = map[string]string{
	"speaker":    "people to their answers",
	"person":     "people to rings",
	"assumption": "assumptions",
}

var innerCapital = regexp.MustCompile(`([a-z])([A-Z])`)

// keyOf is the key of a field in a file: out_of_bounds for OutOfBounds.
func keyOf(f reflect.StructField) string {
	return strings.ToLower(innerCapital.ReplaceAllString(f.Name, "${1}_${2}"))
}

func nullNode(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.ShortTag() == "!!null"
}

func numberNode(n *yaml.Node) bool {
	tag := n.ShortTag()
	return n.Kind == yaml.ScalarNode && (tag == "!!int" || tag == "!!float")
}
