package scenario

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// A reader is one pass over one file.
type reader struct {
	file  string
	s     Scenario
	ids   []string // of the assumptions that were read so far
	tests []Test   // likewise

	deciding *Decision // the one that is being read
	fault    *Fault    // the first one
}

// Parse reads a scenario; name is how messages call the file. It is strict: an
// unknown key, person or assumption, a value out of range, or an answer in a
// stage in which its person is silent is refused with a *Fault that names
// line, path and what is allowed.
//
// Only title, starts, people and their zones have to be given. Left out,
// pace_days is 1 and leave_out no step; without_lead is false; a person's name is their key; the problem is the title; a
// test takes 1 person-day, no lead time, no owner; an action is the lead's
// and due in 7 days; the check-in is on Wednesday; another time box has 2
// weeks.
func Parse(name string, data []byte) (*Scenario, error) {
	root, err := document(data)
	if err != nil {
		return nil, notRead(name, data, err)
	}
	in := &reader{file: name}
	value{in: in, node: root, line: max(root.Line, 1)}.intoStruct(reflect.ValueOf(&in.s).Elem())
	if in.fault != nil {
		return nil, in.fault
	}
	in.s.complete()
	return &in.s, nil
}

// complete fills in what goes by something else when left out.
func (s *Scenario) complete() {
	s.Brief.Problem = cmp.Or(s.Brief.Problem, s.Title)
	for i, p := range s.People {
		s.People[i].Name = cmp.Or(p.Name, p.Key)
	}
	for i, a := range s.Actions {
		s.Actions[i].Owner = cmp.Or(a.Owner, s.Lead().Key)
	}
}

var (
	errNothing        = errors.New("the file holds no scenario")
	errSecondDocument = errors.New("a second document begins")
)

// document parses the YAML of one file and gives its root.
func document(data []byte) (*yaml.Node, error) {
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var first, second yaml.Node
	if err := dec.Decode(&first); errors.Is(err, io.EOF) {
		return nil, errNothing
	} else if err != nil {
		return nil, err
	}
	switch err := dec.Decode(&second); {
	case err == nil:
		return nil, errSecondDocument
	case !errors.Is(err, io.EOF):
		return nil, err
	case nullNode(first.Content[0]):
		return nil, errNothing
	}
	return first.Content[0], nil
}

// notRead is the fault of a file that is not one YAML document.
func notRead(file string, data []byte, err error) *Fault {
	f := &Fault{File: file, Line: faultLine(data, err), Problem: err.Error()}
	switch {
	case errors.Is(err, errNothing):
		f.Line, f.Allowed = 1, "a mapping with at least title, starts and people"
	case errors.Is(err, errSecondDocument):
		f.Allowed = "one document in a file"
	default:
		f.Problem, f.Allowed = "not YAML: "+plainYAML(err), "see the indentation, quotes and brackets there"
	}
	return f
}

// faultLine finds the line on which err arises: the shortest run of lines
// that fails in the same way ends there. The parser's own line will not do:
// it is where the innermost collection began, and missing on the first line.
func faultLine(data []byte, err error) int {
	lines := bytes.SplitAfter(data, []byte("\n"))
	fine, fails := 0, len(lines)
	for fine+1 < fails {
		middle := (fine + fails) / 2
		if _, e := document(bytes.Join(lines[:middle], nil)); e != nil && e.Error() == err.Error() {
			fails = middle
		} else {
			fine = middle
		}
	}
	return fails
}

var yamlPrefix = regexp.MustCompile(`^yaml: (line \d+: )?`)

// plainYAML is the parser's message without its prefix and on one line.
func plainYAML(err error) string {
	return strings.Join(strings.Fields(yamlPrefix.ReplaceAllString(err.Error(), "")), " ")
}

// A Fault says what is wrong with a scenario, where, and what would be right.
// Its message is always one line.
type Fault struct {
	File    string
	Line    int    // from 1
	Path    string // such as ratings.round1.ana.A3; empty for the file as a whole
	Problem string
	Allowed string
}

// Error gives file, line, path, what is wrong and what is allowed.
func (f *Fault) Error() string {
	where := fmt.Sprintf("%s:%d: ", f.File, f.Line)
	if f.Path != "" {
		where += f.Path + ": "
	}
	return where + f.Problem + "; " + f.Allowed
}

// shown is how a value appears in a message: short, on one line, and quoted
// when it is text.
func shown(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "a mapping"
	case yaml.SequenceNode:
		return "a list"
	case yaml.AliasNode:
		return "an alias"
	}
	if nullNode(n) {
		return "null"
	}
	if numberNode(n) && len(n.Value) <= shownRunes {
		return n.Value
	}
	return quoted(n.Value)
}

// shownRunes is how much of a value a message repeats.
const shownRunes = 40

func quoted(s string) string {
	if utf8.RuneCountInString(s) > shownRunes {
		s = string([]rune(s)[:shownRunes]) + "…"
	}
	return strconv.Quote(s)
}

// join adds one key to a path. A key that is not a plain name is quoted, so
// that a path stays one line.
func join(path, key string) string {
	if !plainName.MatchString(key) {
		key = quoted(key)
	}
	if path == "" {
		return key
	}
	return path + "." + key
}

// anyOf lists what is allowed, cut short where the list is long.
func anyOf(names []string) string {
	const most = 20
	if len(names) == 0 {
		return "none is given"
	}
	if len(names) > most {
		return fmt.Sprintf("one of %s and %d more", strings.Join(names[:most], ", "), len(names)-most)
	}
	return "one of " + strings.Join(names, ", ")
}
