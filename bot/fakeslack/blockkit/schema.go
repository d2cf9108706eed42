package blockkit

import (
	_ "embed"
	"fmt"
	"maps"
	"regexp"
	"strings"
)

// A surface is where blocks stand; not every block may stand everywhere.
type surface string

const (
	onMessage surface = "message"
	inModal   surface = "modal"
	onHome    surface = "home"
)

//go:embed schema.txt
var schemaText string

// schema has all shapes of the platform. It never changes.
var schema = readSchema(schemaText)

// patterns are what schema.txt names behind a ~.
var patterns = map[string]*regexp.Regexp{
	"date":   regexp.MustCompile(`^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$`),
	"number": regexp.MustCompile(`^-?\d+(\.\d+)?$`),
}

// shapes are the lines of a schema. What begins with $ is a group.
type shapes struct {
	named  map[string]shape
	groups map[string]map[string]shape // by type
}

// readSchema reads what schema.txt describes. It panics at a mistake there.
func readSchema(text string) shapes {
	s := shapes{named: map[string]shape{}, groups: map[string]map[string]shape{}}
	for line := range strings.Lines(strings.ReplaceAll(text, "\n  ", " ")) { // a line that is indented goes on with the one before
		words := strings.Fields(line)
		switch {
		case len(words) == 0 || words[0] == "#":
		case words[0][0] == '$':
			s.groups[words[0]] = s.group(words[1:])
		default:
			s.named[words[0]] = s.shape(words[1:])
		}
	}
	return s
}

// group finds shapes by their types, which stand behind the last dot of their
// names.
func (s shapes) group(names []string) map[string]shape {
	out := map[string]shape{}
	for _, name := range names {
		if name[0] == '$' {
			maps.Copy(out, s.groups[name])
			continue
		}
		out[name[strings.LastIndex(name, ".")+1:]] = s.shapeOf(name)
	}
	return out
}

func (s shapes) shapeOf(name string) shape {
	is, known := s.named[name]
	if !known {
		panic(fmt.Sprintf("blockkit: the schema has no %q above", name))
	}
	return is
}

func (s shapes) shape(words []string) shape {
	out := shape{}
	for _, word := range words {
		if other, all := strings.CutPrefix(word, "@"); all {
			maps.Copy(out, s.shapeOf(other))
			continue
		}
		key, what, _ := strings.Cut(word, ":")
		key, needed := strings.CutSuffix(key, "!")
		out[key] = rule{needed: needed, check: s.check(what)}
	}
	return out
}

// check reads what may stand in a property.
func (s shapes) check(what string) check {
	var low, high int64
	rest := what[1:]
	switch what[0] {
	case '*':
		return anything
	case '=':
		return oneOf(strings.Split(rest, "|")...)
	case '~':
		return matching(patterns[rest])
	case '#':
		scan(rest, "%d..%d", &low, &high)
		return number(low, high)
	case '[':
		limits, each, _ := strings.Cut(rest, "]")
		scan(limits, "%d..%d", &low, &high)
		return items(int(low), int(high), s.check(each))
	case '0', '1':
		scan(what, "%d..%d", &low, &high)
		return text(int(low), int(high))
	}
	kind, length, sized := strings.Cut(what, "/")
	switch {
	case what == "bool":
		return boolean
	case what == "number":
		return anyNumber
	case what[0] == '<':
		return typed(s.group(strings.Split(strings.TrimSuffix(rest, ">"), "|")))
	case sized:
		scan(length, "%d", &high)
		return s.textObject(kind, int(high))
	}
	return s.shapeOf(what).check
}

// textObject is a text object of at most so many characters: plain text, and
// words in mrkdwn too.
func (s shapes) textObject(kind string, high int) check {
	limited := map[string]shape{}
	for _, name := range []string{"plain_text", "mrkdwn"} {
		limited[name] = maps.Clone(s.shapeOf(name))
		limited[name]["text"] = rule{needed: true, check: text(1, high)}
	}
	if kind == "plain" {
		delete(limited, "mrkdwn")
	}
	return typed(limited)
}

func scan(text, format string, into ...any) {
	if _, err := fmt.Sscanf(text, format, into...); err != nil {
		panic(fmt.Sprintf("blockkit: the schema says %q: %v", text, err))
	}
}
