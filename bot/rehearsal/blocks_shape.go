package rehearsal

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"unicode/utf8"
)

// A surface is where blocks stand; not every block may stand everywhere.
type surface string

const (
	onMessage surface = "message"
	inModal   surface = "modal"
	onHome    surface = "home"
)

// A checker walks through a payload and notes every fault with a JSON pointer
// to it, in the platform's words.
type checker struct {
	on     surface
	faults []string
}

func (c *checker) fault(at, format string, args ...any) {
	c.faults = append(c.faults, fmt.Sprintf(format, args...)+" [json-pointer:"+at+"]")
}

// A check looks at one value that is there.
type check func(c *checker, v any, at string)

// A rule says whether a property has to be there and what it may be.
type rule struct {
	needed bool
	check  check
}

func must(is check) rule { return rule{needed: true, check: is} }
func may(is check) rule  { return rule{check: is} }

// A shape says what properties an object may have.
type shape map[string]rule

// with returns s with further properties.
func (s shape) with(more shape) shape {
	out := maps.Clone(s)
	maps.Copy(out, more)
	return out
}

// check notes what is wrong with an object. A null counts as not given.
func (s shape) check(c *checker, v any, at string) {
	o, ok := v.(map[string]any)
	if !ok {
		c.fault(at, "must provide an object")
		return
	}
	for _, key := range slices.Sorted(maps.Keys(s)) {
		switch v := o[key]; {
		case v != nil:
			s[key].check(c, v, at+"/"+key)
		case s[key].needed:
			c.fault(at, "missing required field: %s", key)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(o)) {
		if _, known := s[key]; !known && o[key] != nil {
			c.fault(at, "invalid additional property: %s", key)
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

func upTo(high int) check { return text(0, high) }

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
			each(c, item, fmt.Sprintf("%s/%d", at, i))
		}
	}
}

// typed is an object whose type is one of those allowed here.
func typed(shapes map[string]shape, allowed ...string) check {
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
		s, known := shapes[kind]
		if !known || (len(allowed) > 0 && !slices.Contains(allowed, kind)) {
			c.fault(at+"/type", "unsupported type: %s", kind)
			return
		}
		s.check(c, o, at)
	}
}
