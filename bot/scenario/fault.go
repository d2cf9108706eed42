package scenario

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

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
