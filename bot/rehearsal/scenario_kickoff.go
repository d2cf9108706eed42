package rehearsal

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"
)

// The stages in which somebody may be silent, in order.
func answeredStages() []string {
	return []string{"brief", "framing", "roles", "assumptions", "rating", "backlog", "timebox", "close", "underway"}
}

func scenarioRings() []string { return []string{"core", "consulted", "informed"} }

func scenarioKinds() []string {
	return []string{"desirability", "viability", "feasibility", "usability"}
}

func (in *scenarioReading) readPeople(s spot) {
	const allowed = "a mapping with at least one person, such as ana: {name: Ana, zone: Europe/Lisbon}"
	people := s.needed(allowed).entries(allowed)
	if s.given() && len(people) == 0 {
		s.wrong(allowed, "nobody takes part")
	}
	for _, e := range people {
		if !simpleName.MatchString(e.name) {
			e.key.wrong("a letter, then up to 39 letters, digits, - or _", "%s is not allowed as the key of a person", shortQuote(e.name))
		}
		in.s.People = append(in.s.People, e.readPerson())
	}
}

func (e mapEntry) readPerson() ScenarioPerson {
	f := e.value.fields("name", "zone", "silent")
	p := ScenarioPerson{Key: e.name, Name: e.name, Zone: f.get("zone").zone()}
	if name := f.get("name"); name.given() {
		p.Name = name.heading("a name")
	}
	for _, s := range f.get("silent").list("a list of stages") {
		stage := s.needed(anyOf(answeredStages())).choice("the stage", answeredStages())
		if slices.Contains(p.Silent, stage) {
			s.wrong("each stage once", "%s is given twice", stage)
		}
		p.Silent = append(p.Silent, stage)
	}
	return p
}

// zone reads the name of a time zone, which has to be given.
func (s spot) zone() string {
	const allowed = "a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland"
	name := s.needed(allowed).text()
	if s.given() && !isPlace(name) {
		s.wrong(allowed, "there is no time zone %s", shortQuote(name))
	}
	return name
}

// isPlace reports whether name is a time zone that says where somebody is: Go
// takes "" for UTC and "Local" for the zone of this machine, which do not.
func isPlace(name string) bool {
	_, err := time.LoadLocation(name)
	return err == nil && name != "" && name != "Local"
}

func (in *scenarioReading) readBrief(s spot) {
	f := s.fields("why", "outcome", "out_of_bounds", "problem", "links", "questions")
	b := ScenarioBrief{Why: f.get("why").text(), Outcome: f.get("outcome").text(),
		OutOfBounds: f.get("out_of_bounds").text(), Problem: in.s.Title}
	if problem := f.get("problem"); problem.given() {
		b.Problem = problem.words("the problem statement")
	}
	for _, l := range f.get("links").list("a list of links") {
		b.Links = append(b.Links, l.words("a link"))
	}
	for _, q := range f.get("questions").list("a list of questions, each {by, ask, answer}") {
		f := q.fields("by", "ask", "answer")
		b.Questions = append(b.Questions, ScenarioQuestion{By: f.get("by").speaker("brief"),
			Ask: f.get("ask").words("the question"), Answer: f.get("answer").text()})
	}
	in.s.Brief = b
}

func (in *scenarioReading) readFraming(s spot) {
	f := s.fields("wordings", "votes")
	for _, w := range f.get("wordings").list("a list of wordings, each {by, level, text}") {
		f := w.fields("by", "level", "text")
		in.s.Framing.Wordings = append(in.s.Framing.Wordings, ScenarioWording{By: f.get("by").speaker("framing"),
			Level: f.get("level").level(), Text: in.newWording(f.get("text"))})
	}
	in.s.Framing.Votes = perPerson(f.get("votes"), "framing", func(s spot) ScenarioFramingVote {
		f := s.fields("level", "ticks")
		return ScenarioFramingVote{Level: f.get("level").level(), Ticks: f.get("ticks").ticks()}
	})
}

// newWording reads the text of a further wording. The ladder takes each once.
func (in *scenarioReading) newWording(s spot) string {
	text := s.words("the wording")
	for i, w := range in.s.Framing.Wordings {
		if strings.EqualFold(strings.TrimSpace(w.Text), strings.TrimSpace(text)) {
			s.wrong("each wording once", "the same text as framing.wordings[%d]", i+1)
		}
	}
	return text
}

// level reads a rung of the ladder, which has to be given.
func (s spot) level() int {
	const allowed = "a whole number from -2 (narrower) to 2 (broader)"
	return s.needed(allowed).wholeOr("level", -2, 2, 0, allowed)
}

// ticks reads the wordings that somebody could live with: "original", which
// becomes 0, or the number of a wording.
func (s spot) ticks() []int {
	var out []int
	for _, t := range s.list("a list of wordings: original, or their numbers") {
		n := t.tick()
		if slices.Contains(out, n) {
			t.wrong("each wording once", "%s is ticked twice", shownNode(t.node))
		}
		out = append(out, n)
	}
	return out
}

func (s spot) tick() int {
	if s.given() && s.node.Kind == yaml.ScalarNode && s.node.Value == "original" {
		return 0
	}
	last := len(s.in.s.Framing.Wordings)
	allowed := "original, as there are no further wordings"
	if last > 0 {
		allowed = "original, or the number of a wording from 1 to " + strconv.Itoa(last)
	}
	return s.needed(allowed).wholeOr("tick", 1, last, 0, allowed)
}

func (in *scenarioReading) readRoles(s spot) {
	f := s.fields("self", "days", "named", "settled")
	in.s.Roles.Self = perPerson(f.get("self"), "roles", spot.ring)
	in.s.Roles.Days = perPerson(f.get("days"), "roles", func(s spot) float64 {
		return s.needed("a number from 0 to 5").number("days", 0, 5, 0)
	})
	for _, n := range f.get("named").list("a list of people, each {by, name, ring}") {
		f := n.fields("by", "name", "ring")
		in.s.Roles.Named = append(in.s.Roles.Named, ScenarioNamed{By: f.get("by").speaker("roles"),
			Name: f.get("name").heading("the name of who is missing"), Ring: f.get("ring").ring()})
	}
	in.s.Roles.Settled = map[string]string{}
	for _, e := range f.get("settled").entries("a mapping of people to rings") {
		in.s.Roles.Settled[e.key.person()] = e.value.ring()
	}
}

// ring reads one of the rings, which has to be given.
func (s spot) ring() string {
	return s.needed(anyOf(scenarioRings())).choice("the ring", scenarioRings())
}

func (in *scenarioReading) readAssumptions(s spot) {
	for _, a := range s.list("a list of assumptions, each {id, by, text, because}") {
		f := a.fields("id", "by", "text", "because")
		in.s.Assumptions = append(in.s.Assumptions, ScenarioAssumption{ID: in.newID(f.get("id")),
			By: f.get("by").speaker("assumptions"), Text: f.get("text").words("the belief"), Because: f.get("because").text()})
	}
}

// newID reads the id of a further assumption.
func (in *scenarioReading) newID(s spot) string {
	const allowed = "a letter, then up to 39 letters, digits, - or _"
	id := s.needed(allowed).text()
	if s.given() && !simpleName.MatchString(id) {
		s.wrong(allowed, "%s is not allowed as the id of an assumption", shortQuote(id))
	}
	if in.knowsAssumption(id) {
		s.wrong("each id once", "the id %s is given twice", shortQuote(id))
	}
	return id
}
