package rehearsal

import (
	"slices"
	"strconv"

	"go.yaml.in/yaml/v3"
)

// Bounds that keep a typing slip from becoming a plan.
const (
	mostWeeks = 12  // of a time box
	mostDays  = 60  // of effort or of lead time of a test
	mostCases = 1e6 // people or cases of a test
	mostDue   = 365 // days until an action is due
)

func (in *scenarioReading) readRatings(s spot) {
	f := s.fields("round1", "round2")
	in.s.Ratings.Round1 = f.get("round1").ballots()
	in.s.Ratings.Round2 = f.get("round2").ballots()
}

func (s spot) ballots() map[string]map[string]ScenarioPair {
	return perPerson(s, "rating", func(s spot) map[string]ScenarioPair { return perAssumption(s, spot.pair) })
}

// pair reads [importance, evidence].
func (s spot) pair() ScenarioPair {
	const allowed = "a pair [importance, evidence]"
	both := s.needed(allowed).list(allowed)
	if s.given() && len(both) != 2 {
		s.wrong(allowed, "a list of %d is not allowed", len(both))
	}
	if len(both) != 2 {
		return ScenarioPair{}
	}
	// The path of the pair is enough: the noun says which half is meant.
	both[0].path, both[1].path = s.path, s.path
	return ScenarioPair{Importance: both[0].rating("importance"), Evidence: both[1].rating("evidence")}
}

func (s spot) rating(noun string) int {
	return s.wholeOr(noun, 1, 9, 0, `a whole number from 1 to 9, or null for "can't say"`)
}

func (in *scenarioReading) readBacklog(s spot) {
	f := s.fields("kinds", "tests")
	in.s.Backlog.Kinds = perAssumption(f.get("kinds"), func(s spot) map[string]string {
		return perPerson(s, "backlog", func(s spot) string {
			return s.needed(anyOf(scenarioKinds())).choice("the kind of risk", scenarioKinds())
		})
	})
	for _, t := range f.get("tests").list("a list of tests, each with at least assumption, by and method") {
		in.s.Backlog.Tests = append(in.s.Backlog.Tests, t.test())
	}
}

func (s spot) test() ScenarioTest {
	f := s.fields("assumption", "by", "method", "learn", "pass", "effort_days", "lead_days", "owner", "size")
	t := ScenarioTest{
		Assumption: f.get("assumption").assumption(),
		By:         f.get("by").speaker("backlog"),
		Method:     f.get("method").heading("how it is to be found out"),
		Learn:      f.get("learn").text(),
		Pass:       f.get("pass").passMark(),
		EffortDays: f.get("effort_days").number("effort_days", 0, mostDays, 1),
		LeadDays:   f.get("lead_days").number("lead_days", 0, mostDays, 0),
		Size:       f.get("size").whole("size", 1, mostCases, 0),
	}
	if owner := f.get("owner"); owner.given() {
		t.Owner = owner.person()
	}
	return t
}

// passMark reads {share}. A share of 0 is refused: no result could miss it.
func (s spot) passMark() *ScenarioPass {
	if !s.given() {
		return nil
	}
	const allowed = "a number above 0 and at most 1"
	share := s.fields("share").get("share").needed(allowed)
	p := &ScenarioPass{Share: share.numberOr("share", 0, 1, 0, allowed)}
	if share.given() && p.Share == 0 {
		share.wrong(allowed, "share %s is not allowed", shownNode(share.node))
	}
	return p
}

func (in *scenarioReading) readTimebox(s spot) {
	if !s.given() {
		return
	}
	f := s.fields("votes", "set", "checkin", "stop_if", "build_if")
	in.s.Timebox = &ScenarioTimebox{
		Votes: perPerson(f.get("votes"), "timebox", func(s spot) int {
			return s.needed("a whole number of weeks").whole("weeks", 1, mostWeeks, 0)
		}),
		Set:     f.get("set").whole("weeks", 1, mostWeeks, 0),
		Checkin: f.get("checkin").weekday(),
		StopIf:  f.get("stop_if").text(),
		BuildIf: f.get("build_if").text(),
	}
}

func (in *scenarioReading) readActions(s spot) {
	for _, a := range s.list("a list of actions, each {what, owner, due_days}") {
		f := a.fields("what", "owner", "due_days")
		action := ScenarioAction{What: f.get("what").words("what is to be done"), Owner: in.leadKey(),
			DueDays: f.get("due_days").whole("due_days", 0, mostDue, 7)}
		if owner := f.get("owner"); owner.given() {
			action.Owner = owner.person()
		}
		in.s.Actions = append(in.s.Actions, action)
	}
}

func (in *scenarioReading) leadKey() string {
	if len(in.s.People) == 0 {
		return ""
	}
	return in.s.Lead().Key
}

func (in *scenarioReading) readUnderway(s spot) {
	if !s.given() {
		return
	}
	f := s.fields("checkins", "decision")
	u := &ScenarioUnderway{}
	for _, c := range f.get("checkins").list("a list of check-ins, each {results, evidence, confidence}") {
		u.Checkins = append(u.Checkins, c.checkin())
	}
	u.Decision = f.get("decision").decision()
	in.s.Underway = u
}

func (s spot) checkin() ScenarioCheckin {
	f := s.fields("results", "evidence", "confidence")
	var c ScenarioCheckin
	for _, r := range f.get("results").list("a list of results, each {test, k, n}") {
		result := r.result()
		if slices.ContainsFunc(c.Results, func(o ScenarioResult) bool { return o.Test == result.Test }) {
			r.wrong("one result for a test at each check-in", "test %d is reported twice", result.Test)
		}
		c.Results = append(c.Results, result)
	}
	c.Evidence = perPerson(f.get("evidence"), "underway", func(s spot) map[string]int {
		return perAssumption(s, func(s spot) int { return s.mark("evidence") })
	})
	c.Confidence = perPerson(f.get("confidence"), "underway", func(s spot) int { return s.mark("confidence") })
	return c
}

// mark reads a rating for which "can't say" would mean nothing new.
func (s spot) mark(noun string) int {
	return s.needed("a whole number from 1 to 9").whole(noun, 1, 9, 0)
}

func (s spot) result() ScenarioResult {
	f := s.fields("test", "k", "n")
	test := f.get("test").testNumber()
	n := f.get("n").needed("how many were asked or tried").whole("n", 1, mostCases, 1)
	k := f.get("k").needed("how many of the n counted as support").whole("k", 0, n, 0)
	return ScenarioResult{Test: test, K: k, N: n}
}

// testNumber reads the number of a test, whose owner has to be heard.
func (s spot) testNumber() int {
	tests := s.in.s.Backlog.Tests
	allowed := "there are no tests in backlog.tests"
	if len(tests) > 0 {
		allowed = "the number of a test from 1 to " + strconv.Itoa(len(tests))
	}
	n := s.needed(allowed).wholeOr("test", 1, len(tests), 0, allowed)
	if n > 0 {
		s.mustNotBeSilent(tests[n-1].Owner, "underway")
	}
	return n
}

func (s spot) decision() *ScenarioDecision {
	if !s.given() {
		return nil
	}
	choices := []string{"build", "stop", "another"}
	choose := func(s spot) string { return s.needed(anyOf(choices)).choice("the decision", choices) }
	f := s.fields("votes", "set", "weeks")
	d := &ScenarioDecision{Votes: perPerson(f.get("votes"), "underway", choose), Set: choose(f.get("set"))}
	d.Weeks = f.get("weeks").furtherWeeks(d.forAnother())
	return d
}

// forAnother reports whether anybody wants another time box.
func (d *ScenarioDecision) forAnother() bool {
	for _, v := range d.Votes {
		if v == "another" {
			return true
		}
	}
	return d.Set == "another"
}

// furtherWeeks reads the length of another time box, if one is wanted.
func (s spot) furtherWeeks(wanted bool) int {
	if s.given() && !wanted {
		s.wrong("leave it out, or decide another", "weeks count only for another time box")
	}
	if !wanted {
		return 0
	}
	if s.given() && (s.node.Kind != yaml.ScalarNode || (s.node.Value != "2" && s.node.Value != "4")) {
		s.wrong("2 or 4", "weeks %s is not allowed", shownNode(s.node))
	}
	return s.whole("weeks", 2, 4, 2)
}
