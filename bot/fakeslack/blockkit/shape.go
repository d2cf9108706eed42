package blockkit

import (
	"cmp"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"unicode/utf8"
)

// A checker walks through a payload and notes every fault with a JSON pointer
// to it, in the platform's words.
type checker struct {
	faults []fault
}

type fault struct{ at, what string }

func (c *checker) fault(at, format string, args ...any) {
	c.faults = append(c.faults, fault{at: at, what: fmt.Sprintf(format, args...)})
}

// messages are the faults in the order of their places, so that the walk may
// go in any.
func (c *checker) messages() []string {
	slices.SortStableFunc(c.faults, func(a, b fault) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.what, b.what))
	})
	var out []string
	for _, f := range c.faults {
		out = append(out, f.what+" [json-pointer:"+f.at+"]")
	}
	return out
}

// A check looks at one value that is there.
type check func(c *checker, v any, at string)

// A rule says whether a property has to be there and what it may be.
type rule struct {
	needed bool
	check  check
}

// A shape says what properties an object may have.
type shape map[string]rule

// check notes what is wrong with an object. A null counts as not given.
func (s shape) check(c *checker, v any, at string) {
	o, ok := v.(map[string]any)
	if !ok {
		c.fault(at, "must provide an object")
		return
	}
	for key, r := range s {
		if r.needed && o[key] == nil {
			c.fault(at, "missing required field: %s", key)
		}
	}
	for key, v := range o {
		switch r, known := s[key]; {
		case v == nil:
		case !known:
			c.fault(at, "invalid additional property: %s", key)
		default:
			r.check(c, v, at+"/"+key)
		}
	}
}

// anything takes any value.
func anything(*checker, any, string) {}

// text is a string of low to high characters. Characters are counted, not
// bytes.
func text(low, high int) check {
	return func(c *checker, v any, at string) {
		s, ok := v.(string)
		if !ok {
			c.fault(at, "must provide a string")
			return
		}
		n := utf8.RuneCountInString(s)
		if n < low {
			c.fault(at, "must be more than %d characters", low-1)
		}
		if n > high {
			c.fault(at, "must be less than %d characters", high+1)
		}
	}
}

func boolean(c *checker, v any, at string) {
	if _, ok := v.(bool); !ok {
		c.fault(at, "must provide a boolean")
	}
}

// number is a whole number from low to high.
func number(low, high int64) check {
	return func(c *checker, v any, at string) {
		n, ok := v.(json.Number)
		i, err := n.Int64()
		if !ok || err != nil {
			c.fault(at, "must provide a whole number")
			return
		}
		if i < low || i > high {
			c.fault(at, "must be a number from %d to %d", low, high)
		}
	}
}

func anyNumber(c *checker, v any, at string) {
	if _, ok := v.(json.Number); !ok {
		c.fault(at, "must provide a number")
	}
}

func oneOf(allowed ...string) check {
	return func(c *checker, v any, at string) {
		if s, ok := v.(string); !ok || !slices.Contains(allowed, s) {
			c.fault(at, "must be a valid enum value")
		}
	}
}

// items is a list of low to high values.
func items(low, high int, each check) check {
	return func(c *checker, v any, at string) {
		l, ok := v.([]any)
		if !ok {
			c.fault(at, "must provide an array")
			return
		}
		if len(l) < low {
			c.fault(at, "no less than %d items allowed", low)
		}
		if len(l) > high {
			c.fault(at, "no more than %d items allowed", high)
			return
		}
		for i, item := range l {
			each(c, item, at+"/"+strconv.Itoa(i))
		}
	}
}

func matching(pattern *regexp.Regexp) check {
	return func(c *checker, v any, at string) {
		if s, ok := v.(string); !ok || !pattern.MatchString(s) {
			c.fault(at, "must match the following pattern: %s", pattern)
		}
	}
}

// typed is an object whose type is one of those allowed here.
func typed(allowed map[string]shape) check {
	return func(c *checker, v any, at string) {
		o, ok := v.(map[string]any)
		if !ok {
			c.fault(at, "must provide an object")
			return
		}
		kind, ok := o["type"].(string)
		if !ok {
			c.fault(at, "missing required field: type")
			return
		}
		s, known := allowed[kind]
		if !known {
			c.fault(at+"/type", "unsupported type: %s", kind)
			return
		}
		s.check(c, o, at)
	}
}
