package scenario

import (
	"maps"
	"slices"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"
)

// The format: which keys a file has, and what each may hold. Keys are read in
// the order in which they stand here, whatever their order in the file, since
// later ones name the people, assumptions and tests of earlier ones.

var (
	// Stages are those in which somebody may be silent, in order.
	Stages = []string{"brief", "framing", "roles", "assumptions", "rating", "backlog", "timebox", "close", "underway"}

	ring     = choice("the ring", []string{"core", "consulted", "informed"})
	riskKind = choice("the kind of risk", []string{"desirability", "viability", "feasibility", "usability"})
	decided  = choice("the decision", []string{"build", "stop", "another"})

	// weekdays are the names of the days, Sunday first.
	weekdays = []string{"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"}
)

// Bounds that keep a typing slip from becoming a plan.
const (
	mostWeeks = 12  // of a time box
	mostDays  = 60  // of effort or of lead time of a test
	mostCases = 1e6 // people or cases of a test
	mostDue   = 365 // days until an action is due
)

func (s *Scenario) read(root value) {
	ballots := perPerson("rating", perAssumption(pair))
	root.needed("a mapping with at least title, starts and people").mapping(
		at("title", &s.Title, heading("the title of the kickoff")),
		at("starts", &s.Starts, instant),
		at("pace_days", &s.PaceDays, whole("pace_days", 1, 10, 1)),
		at("people", &s.People, people),
		section("brief",
			at("why", &s.Brief.Why, value.text),
			at("outcome", &s.Brief.Outcome, value.text),
			at("out_of_bounds", &s.Brief.OutOfBounds, value.text),
			at("problem", &s.Brief.Problem, or(&s.Title, words("the problem statement"))),
			list("links", &s.Brief.Links, "a list of links", words("a link")),
			list("questions", &s.Brief.Questions, "a list of questions, each {by, ask, answer}", question)),
		section("framing",
			list("wordings", &s.Framing.Wordings, "a list of wordings, each {by, level, text}", wording),
			at("votes", &s.Framing.Votes, perPerson("framing", framingVote))),
		section("roles",
			at("self", &s.Roles.Self, perPerson("roles", ring)),
			at("days", &s.Roles.Days, perPerson("roles", needed("a number from 0 to 5", number("days", 0, 5, 0)))),
			list("named", &s.Roles.Named, "a list of people, each {by, name, ring}", named),
			at("settled", &s.Roles.Settled, mappingOf("a mapping of people to rings", value.person, ring))),
		list("assumptions", &s.Assumptions, "a list of assumptions, each {id, by, text, because}", newAssumption),
		section("ratings",
			at("round1", &s.Ratings.Round1, ballots),
			at("round2", &s.Ratings.Round2, ballots)),
		section("backlog",
			at("kinds", &s.Backlog.Kinds, perAssumption(perPerson("backlog", riskKind))),
			list("tests", &s.Backlog.Tests, "a list of tests, each with at least assumption, by and method", test)),
		optional("timebox", &s.Timebox, timebox),
		list("actions", &s.Actions, "a list of actions, each {what, owner, due_days}", action),
		optional("underway", &s.Underway, underway),
	)
}

// people reads a mapping: its keys name those who take part.
func people(v value) []Person {
	const allowed = "a mapping with at least one person, such as ana: {name: Ana, zone: Europe/Lisbon}"
	var all []Person
	for _, e := range v.needed(allowed).entries(allowed) {
		key := e.key.node.Value
		e.key.mustBePlain(key, "key of a person")
		all = append(all, person(key, e.value))
	}
	if v.given() && len(all) == 0 {
		v.wrong(allowed, "nobody takes part")
	}
	return all
}

func person(key string, v value) Person {
	p := Person{Key: key}
	v.mapping(
		at("name", &p.Name, or(&p.Key, heading("a name"))),
		at("zone", &p.Zone, zone),
		list("silent", &p.Silent, "a list of stages", func(v value) string {
			stage := choice("the stage", Stages)(v)
			if slices.Contains(p.Silent, stage) {
				v.wrong("each stage once", "%s is given twice", stage)
			}
			return stage
		}))
	return p
}

// zone reads the name of a time zone that says where somebody is: Go takes ""
// for UTC and "Local" for the zone of this machine, which do not.
func zone(v value) string {
	const allowed = "a time zone of the IANA list, such as Europe/Lisbon or Pacific/Auckland"
	name := v.needed(allowed).text()
	if v.given() && !isPlace(name) {
		v.wrong(allowed, "there is no time zone %s", quoted(name))
	}
	return name
}

func isPlace(name string) bool {
	_, err := time.LoadLocation(name)
	return err == nil && name != "" && name != "Local"
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

func question(v value) (q Question) {
	v.mapping(at("by", &q.By, speaker("brief")), at("ask", &q.Ask, words("the question")), at("answer", &q.Answer, value.text))
	return q
}

// level reads how broad a wording is.
func level(v value) int {
	const allowed = "a whole number from -2 (narrower) to 2 (broader)"
	return needed(allowed, numberAs(allowed, "level", -2, 2, 0))(v)
}

func wording(v value) (w Wording) {
	v.mapping(at("by", &w.By, speaker("framing")), at("level", &w.Level, level), at("text", &w.Text, newWording))
	return w
}

// newWording reads a text that differs from the wordings before it: the bot
// takes each once.
func newWording(v value) string {
	text := words("the wording")(v)
	for i, w := range v.in.s.Framing.Wordings {
		if strings.EqualFold(strings.TrimSpace(w.Text), strings.TrimSpace(text)) {
			v.wrong("each wording once", "the same text as framing.wordings[%d]", i+1)
		}
	}
	return text
}

func framingVote(v value) (vote FramingVote) {
	v.mapping(
		at("level", &vote.Level, level),
		list("ticks", &vote.Ticks, "a list of wordings: original, or their numbers", func(v value) int {
			n := tick(v)
			if slices.Contains(vote.Ticks, n) {
				v.wrong("each wording once", "%s is ticked twice", shown(v.node))
			}
			return n
		}))
	return vote
}

// tick reads a wording that somebody could live with: "original", which
// becomes 0, or the number of a wording.
func tick(v value) int {
	if v.given() && v.node.Kind == yaml.ScalarNode && v.node.Value == "original" {
		return 0
	}
	return v.numberOf("tick", len(v.in.s.Framing.Wordings), "original, as there are no further wordings", "original, or the number of a wording")
}

func named(v value) (n Named) {
	v.mapping(at("by", &n.By, speaker("roles")), at("name", &n.Name, heading("the name of who is missing")), at("ring", &n.Ring, ring))
	return n
}

func newAssumption(v value) (a Assumption) {
	v.mapping(at("id", &a.ID, newID), at("by", &a.By, speaker("assumptions")), at("text", &a.Text, words("the belief")), at("because", &a.Because, value.text))
	return a
}

func newID(v value) string {
	id := v.needed(plainNameAllowed).text()
	if v.given() {
		v.mustBePlain(id, "id of an assumption")
	}
	if slices.ContainsFunc(v.in.s.Assumptions, func(a Assumption) bool { return a.ID == id }) {
		v.wrong("each id once", "the id %s is given twice", quoted(id))
	}
	return id
}

// pair reads [importance, evidence].
func pair(v value) Pair {
	const allowed = "a pair [importance, evidence]"
	both := v.needed(allowed).items(allowed)
	if v.given() && len(both) != 2 {
		v.wrong(allowed, "a list of %d is not allowed", len(both))
	}
	if len(both) != 2 {
		return Pair{}
	}
	// The path of the pair is enough: the noun says which half is meant.
	both[0].path, both[1].path = v.path, v.path
	rating := func(noun string) func(value) int {
		return numberAs(`a whole number from 1 to 9, or null for "can't say"`, noun, 1, 9, 0)
	}
	return Pair{Importance: rating("importance")(both[0]), Evidence: rating("evidence")(both[1])}
}

func test(v value) (t Test) {
	nobody := ""
	v.mapping(
		at("assumption", &t.Assumption, value.assumption),
		at("by", &t.By, speaker("backlog")),
		at("method", &t.Method, heading("how it is to be found out")),
		at("learn", &t.Learn, value.text),
		optional("pass", &t.Pass, passMark),
		at("effort_days", &t.EffortDays, number("effort_days", 0, mostDays, 1)),
		at("lead_days", &t.LeadDays, number("lead_days", 0, mostDays, 0)),
		at("owner", &t.Owner, or(&nobody, value.person)),
		at("size", &t.Size, whole("size", 1, mostCases, 0)))
	return t
}

// passMark reads {share}. A share of 0 is refused: no result could miss it.
func passMark(v value) (p Pass) {
	v.mapping(at("share", &p.Share, func(v value) float64 {
		const allowed = "a number above 0 and at most 1"
		share := needed(allowed, numberAs(allowed, "share", 0.0, 1, 0))(v)
		if v.given() && share == 0 {
			v.wrong(allowed, "share %s is not allowed", shown(v.node))
		}
		return share
	}))
	return p
}

func timebox(v value) (t Timebox) {
	v.mapping(
		at("votes", &t.Votes, perPerson("timebox", needed("a whole number of weeks", whole("weeks", 1, mostWeeks, 0)))),
		at("set", &t.Set, whole("weeks", 1, mostWeeks, 0)),
		at("checkin", &t.Checkin, func(v value) time.Weekday {
			return time.Weekday(slices.Index(weekdays, v.choice("the day", weekdays, "wednesday")))
		}),
		at("stop_if", &t.StopIf, value.text),
		at("build_if", &t.BuildIf, value.text))
	return t
}

func action(v value) (a Action) {
	lead := ""
	if len(v.in.s.People) > 0 {
		lead = v.in.s.Lead().Key
	}
	v.mapping(
		at("what", &a.What, words("what is to be done")),
		at("owner", &a.Owner, or(&lead, value.person)),
		at("due_days", &a.DueDays, whole("due_days", 0, mostDue, 7)))
	return a
}

func underway(v value) (u Underway) {
	v.mapping(
		list("checkins", &u.Checkins, "a list of check-ins, each {results, evidence, confidence}", checkin),
		optional("decision", &u.Decision, decision))
	return u
}

func checkin(v value) (c Checkin) {
	// "Can't say" would mean nothing new here, so these have to be given.
	rating := func(noun string) func(value) int { return needed("a whole number from 1 to 9", whole(noun, 1, 9, 0)) }
	v.mapping(
		list("results", &c.Results, "a list of results, each {test, k, n}", func(v value) Result {
			r := result(v)
			if slices.ContainsFunc(c.Results, func(o Result) bool { return o.Test == r.Test }) {
				v.wrong("one result for a test at each check-in", "test %d is reported twice", r.Test)
			}
			return r
		}),
		at("evidence", &c.Evidence, perPerson("underway", perAssumption(rating("evidence")))),
		at("confidence", &c.Confidence, perPerson("underway", rating("confidence"))))
	return c
}

func result(v value) (r Result) {
	var k value // read last, since n is its bound
	v.mapping(at("test", &r.Test, testNumber),
		at("k", &k, func(v value) value { return v }),
		at("n", &r.N, needed("how many were asked or tried", whole("n", 1, mostCases, 1))))
	r.K = needed("how many of the n counted as support", whole("k", 0, r.N, 0))(k)
	return r
}

// testNumber reads the number of a test. Its owner reports the result, so they
// must not be silent.
func testNumber(v value) int {
	tests := v.in.s.Backlog.Tests
	n := v.numberOf("test", len(tests), "there are no tests in backlog.tests", "the number of a test")
	if n > 0 {
		v.mustNotBeSilent(tests[n-1].Owner, "underway")
	}
	return n
}

func decision(v value) (d Decision) {
	v.mapping(at("votes", &d.Votes, perPerson("underway", decided)), at("set", &d.Set, decided), at("weeks", &d.Weeks, func(v value) int {
		return furtherWeeks(v, d.Set == "another" || slices.Contains(slices.Collect(maps.Values(d.Votes)), "another"))
	}))
	return d
}

// furtherWeeks reads the length of another time box, if one is wanted.
func furtherWeeks(v value, wanted bool) int {
	switch {
	case !wanted && v.given():
		v.wrong("leave it out, or decide another", "weeks count only for another time box")
	case wanted && v.given() && (v.node.Kind != yaml.ScalarNode || v.node.Value != "2" && v.node.Value != "4"):
		v.wrong("2 or 4", "weeks %s is not allowed", shown(v.node))
	case wanted:
		return whole("weeks", 2, 4, 2)(v)
	}
	return 0
}
