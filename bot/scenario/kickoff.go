package scenario

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"
)

// The sections of a file up to the assumptions.

var (
	// Stages are those in which somebody may be silent, in order.
	Stages = []string{"brief", "framing", "roles", "assumptions", "rating", "backlog", "timebox", "close", "underway"}

	rings = []string{"core", "consulted", "informed"}
)

func (in *reader) readPeople(v value) {
	const allowed = "a mapping with at least one person, such as ana: {name: Ana, zone: Europe/Lisbon}"
	people := v.needed(allowed).entries(allowed)
	if v.given() && len(people) == 0 {
		v.wrong(allowed, "nobody takes part")
	}
	for _, e := range people {
		key := e.key.node.Value
		if !simpleName.MatchString(key) {
			e.key.wrong(simpleNameAllowed, "%s is not allowed as the key of a person", quoted(key))
		}
		in.s.People = append(in.s.People, newPerson(e.value, key))
	}
}

func newPerson(v value, key string) Person {
	f := v.fields("name", "zone", "silent")
	p := Person{Key: key, Name: key, Zone: zone(f("zone"))}
	if name := f("name"); name.given() {
		p.Name = name.heading("a name")
	}
	for _, s := range f("silent").list("a list of stages") {
		stage := s.choice("the stage", Stages)
		if slices.Contains(p.Silent, stage) {
			s.wrong("each stage once", "%s is given twice", stage)
		}
		p.Silent = append(p.Silent, stage)
	}
	return p
}

// zone reads the name of a time zone, which has to be given.
func zone(v value) string {
	const allowed = "a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland"
	name := v.needed(allowed).text()
	if v.given() && !isPlace(name) {
		v.wrong(allowed, "there is no time zone %s", quoted(name))
	}
	return name
}

// isPlace reports whether name is a time zone that says where somebody is: Go
// takes "" for UTC and "Local" for the zone of this machine, which do not.
func isPlace(name string) bool {
	_, err := time.LoadLocation(name)
	return err == nil && name != "" && name != "Local"
}

func (in *reader) readBrief(v value) {
	f := v.fields("why", "outcome", "out_of_bounds", "problem", "links", "questions")
	b := Brief{Why: f("why").text(), Outcome: f("outcome").text(), OutOfBounds: f("out_of_bounds").text(), Problem: in.s.Title}
	if problem := f("problem"); problem.given() {
		b.Problem = problem.words("the problem statement")
	}
	b.Links = each(f("links"), "a list of links", func(v value) string { return v.words("a link") })
	b.Questions = each(f("questions"), "a list of questions, each {by, ask, answer}", func(v value) Question {
		f := v.fields("by", "ask", "answer")
		return Question{By: f("by").speaker("brief"), Ask: f("ask").words("the question"), Answer: f("answer").text()}
	})
	in.s.Brief = b
}

func (in *reader) readFraming(v value) {
	f := v.fields("wordings", "votes")
	for _, w := range f("wordings").list("a list of wordings, each {by, level, text}") {
		f := w.fields("by", "level", "text")
		in.s.Framing.Wordings = append(in.s.Framing.Wordings,
			Wording{By: f("by").speaker("framing"), Level: f("level").level(), Text: in.newWording(f("text"))})
	}
	in.s.Framing.Votes = perPerson(f("votes"), "framing", func(v value) FramingVote {
		f := v.fields("level", "ticks")
		return FramingVote{Level: f("level").level(), Ticks: f("ticks").ticks()}
	})
}

// newWording reads the text of a further wording, which differs from those
// before it: the bot takes each once.
func (in *reader) newWording(v value) string {
	text := v.words("the wording")
	for i, w := range in.s.Framing.Wordings {
		if strings.EqualFold(strings.TrimSpace(w.Text), strings.TrimSpace(text)) {
			v.wrong("each wording once", "the same text as framing.wordings[%d]", i+1)
		}
	}
	return text
}

// level reads how broad a wording is, which has to be given.
func (v value) level() int {
	const allowed = "a whole number from -2 (narrower) to 2 (broader)"
	return v.needed(allowed).wholeOr("level", -2, 2, 0, allowed)
}

// ticks reads the wordings that somebody could live with: "original", which
// becomes 0, or the number of a wording.
func (v value) ticks() []int {
	var out []int
	for _, t := range v.list("a list of wordings: original, or their numbers") {
		n := t.tick()
		if slices.Contains(out, n) {
			t.wrong("each wording once", "%s is ticked twice", shown(t.node))
		}
		out = append(out, n)
	}
	return out
}

func (v value) tick() int {
	if v.given() && v.node.Kind == yaml.ScalarNode && v.node.Value == "original" {
		return 0
	}
	last := len(v.in.s.Framing.Wordings)
	allowed := "original, as there are no further wordings"
	if last > 0 {
		allowed = "original, or the number of a wording from 1 to " + strconv.Itoa(last)
	}
	return v.needed(allowed).wholeOr("tick", 1, last, 0, allowed)
}

func (in *reader) readRoles(v value) {
	f := v.fields("self", "days", "named", "settled")
	in.s.Roles.Self = perPerson(f("self"), "roles", value.ring)
	in.s.Roles.Days = perPerson(f("days"), "roles", func(v value) float64 {
		return v.needed("a number from 0 to 5").number("days", 0, 5, 0)
	})
	in.s.Roles.Named = each(f("named"), "a list of people, each {by, name, ring}", func(v value) Named {
		f := v.fields("by", "name", "ring")
		return Named{By: f("by").speaker("roles"), Name: f("name").heading("the name of who is missing"), Ring: f("ring").ring()}
	})
	in.s.Roles.Settled = map[string]string{}
	for _, e := range f("settled").entries("a mapping of people to rings") {
		in.s.Roles.Settled[e.key.person()] = e.value.ring()
	}
}

// ring reads one of the rings, which has to be given.
func (v value) ring() string { return v.choice("the ring", rings) }

func (in *reader) readAssumptions(v value) {
	for _, a := range v.list("a list of assumptions, each {id, by, text, because}") {
		f := a.fields("id", "by", "text", "because")
		in.s.Assumptions = append(in.s.Assumptions, Assumption{ID: in.newID(f("id")),
			By: f("by").speaker("assumptions"), Text: f("text").words("the belief"), Because: f("because").text()})
	}
}

// newID reads the id of a further assumption.
func (in *reader) newID(v value) string {
	id := v.needed(simpleNameAllowed).text()
	if v.given() && !simpleName.MatchString(id) {
		v.wrong(simpleNameAllowed, "%s is not allowed as the id of an assumption", quoted(id))
	}
	if in.s.hasAssumption(id) {
		v.wrong("each id once", "the id %s is given twice", quoted(id))
	}
	return id
}
