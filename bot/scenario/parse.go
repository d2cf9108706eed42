package scenario

import (
	"bytes"
	"cmp"
	"errors"
	"io"
	"reflect"
	"regexp"
	"strings"

	"go.yaml.in/yaml/v3"
)

// A reader is one pass over one file.
type reader struct {
	file  string
	s     Scenario
	fault *Fault // the first one
}

// Parse reads a scenario; name is how messages call the file. It is strict: an
// unknown key, person or assumption, a value out of range, or an answer in a
// stage in which its person is silent is refused with a *Fault that names
// line, path and what is allowed.
//
// Only title, starts, people and their zones have to be given. Left out,
// pace_days is 1; a person's name is their key; the problem is the title; a
// test takes 1 person-day, no lead time, no owner; an action is the lead's
// and due in 7 days; the check-in is on Wednesday; another time box has 2
// weeks.
func Parse(name string, data []byte) (*Scenario, error) {
	root, fault := document(name, data)
	if fault != nil {
		return nil, fault
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

// errSecondDocument says that a file goes on after its first document.
var errSecondDocument = errors.New("a second document")

// document parses the YAML of one file and gives its root, or the
// fault of a file that is not one YAML document.
func document(file string, data []byte) (*yaml.Node, *Fault) {
	root, err := oneDocument(data)
	switch {
	case err == nil && !nullNode(root):
		return root, nil
	case err == nil || errors.Is(err, io.EOF):
		return nil, &Fault{File: file, Line: 1, Problem: "the file holds no scenario",
			Allowed: "a mapping with at least title, starts and people"}
	case errors.Is(err, errSecondDocument):
		return nil, &Fault{File: file, Line: faultLine(data, err), Problem: "a second document begins",
			Allowed: "one document in a file"}
	}
	return nil, &Fault{File: file, Line: faultLine(data, err), Problem: "not YAML: " + plainYAML(err),
		Allowed: "see the indentation, quotes and brackets there"}
}

func oneDocument(data []byte) (*yaml.Node, error) {
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var first, second yaml.Node
	if err := dec.Decode(&first); err != nil {
		return nil, err
	}
	if err := dec.Decode(&second); errors.Is(err, io.EOF) {
		return first.Content[0], nil
	} else if err != nil {
		return nil, err
	}
	return nil, errSecondDocument
}

// faultLine finds the line on which err arises: the shortest run of lines
// that fails in the same way ends there. The parser's own line will not do:
// it is where the innermost collection began, and missing on the first line.
func faultLine(data []byte, err error) int {
	lines := bytes.SplitAfter(data, []byte("\n"))
	fine, fails := 0, len(lines)
	for fine+1 < fails {
		middle := (fine + fails) / 2
		if _, e := oneDocument(bytes.Join(lines[:middle], nil)); e != nil && e.Error() == err.Error() {
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
