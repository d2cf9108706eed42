package scenario

import (
	"slices"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"
)

// A reader is one pass over one file. Sections are read in the order of their
// stages, whatever their order in the file, since later ones name the people,
// assumptions and tests of earlier ones.
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
	in.read(value{in: in, node: root, line: max(root.Line, 1)})
	if in.fault != nil {
		return nil, in.fault
	}
	return &in.s, nil
}

func (in *reader) read(root value) {
	top := root.needed("a mapping with at least title, starts and people").
		fields("title", "starts", "pace_days", "people", "brief", "framing", "roles", "assumptions",
			"ratings", "backlog", "timebox", "actions", "underway")
	in.s.Title = top("title").heading("the title of the kickoff")
	in.s.Starts = instant(top("starts"))
	in.s.PaceDays = top("pace_days").whole("pace_days", 1, 10, 1)
	in.readPeople(top("people"))
	in.readBrief(top("brief"))
	in.readFraming(top("framing"))
	in.readRoles(top("roles"))
	in.readAssumptions(top("assumptions"))
	in.readRatings(top("ratings"))
	in.readBacklog(top("backlog"))
	in.readTimebox(top("timebox"))
	in.readActions(top("actions"))
	in.readUnderway(top("underway"))
}

// instant reads a moment in RFC 3339.
func instant(v value) time.Time {
	const allowed = "a date and time with its offset, such as 2027-03-01T09:00:00Z"
	if !v.needed(allowed).is(yaml.ScalarNode, allowed) {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, v.node.Value)
	if err != nil {
		v.wrong(allowed, "%s is not allowed", shown(v.node))
	}
	return t
}

// person reads the key of somebody who takes part.
func (v value) person() string {
	key := v.needed("the key of a person").text()
	if _, known := v.in.s.Person(key); v.given() && !known {
		keys := eachOf(v.in.s.People, func(p Person) string { return p.Key })
		v.wrong(anyOf(keys), "there is no person %s", quoted(key))
	}
	return key
}

// personOr is for somebody who may be left out.
func (v value) personOr(fallback string) string {
	if !v.given() {
		return fallback
	}
	return v.person()
}

// speaker reads the key of somebody who answers in stage.
func (v value) speaker(stage string) string {
	key := v.person()
	v.mustNotBeSilent(key, stage)
	return key
}

func (v value) mustNotBeSilent(key, stage string) {
	if p, ok := v.in.s.Person(key); ok && p.SilentIn(stage) {
		v.wrong("leave the answer out, or take "+stage+" out of people."+key+".silent", "%s is silent in %s", key, stage)
	}
}

// assumption reads the id of an assumption.
func (v value) assumption() string {
	id := v.needed("the id of an assumption").text()
	if v.given() && !v.in.s.hasAssumption(id) {
		ids := eachOf(v.in.s.Assumptions, func(a Assumption) string { return a.ID })
		v.wrong(anyOf(ids), "there is no assumption %s", quoted(id))
	}
	return id
}

func (s *Scenario) hasAssumption(id string) bool {
	return slices.ContainsFunc(s.Assumptions, func(a Assumption) bool { return a.ID == id })
}

// perPerson reads a mapping from people to their answers in stage.
func perPerson[T any](v value, stage string, read func(value) T) map[string]T {
	out := map[string]T{}
	for _, e := range v.entries("a mapping of people to their answers") {
		out[e.key.speaker(stage)] = read(e.value)
	}
	return out
}

// perAssumption reads a mapping from assumptions to something.
func perAssumption[T any](v value, read func(value) T) map[string]T {
	out := map[string]T{}
	for _, e := range v.entries("a mapping of assumptions") {
		out[e.key.assumption()] = read(e.value)
	}
	return out
}

// each reads a list.
func each[T any](v value, allowed string, read func(value) T) []T {
	return eachOf(v.list(allowed), read)
}

func eachOf[A, B any](all []A, of func(A) B) []B {
	var out []B
	for _, a := range all {
		out = append(out, of(a))
	}
	return out
}

// weekdays are the names of the days as a scenario gives them, Sunday first.
var weekdays = eachOf([]time.Weekday{0, 1, 2, 3, 4, 5, 6}, func(d time.Weekday) string { return strings.ToLower(d.String()) })

// weekday reads the name of a day; left out it is Wednesday.
func weekday(v value) time.Weekday {
	return time.Weekday(slices.Index(weekdays, v.choiceOr("the day", weekdays, "wednesday")))
}
