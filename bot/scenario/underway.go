package scenario

import (
	"slices"
	"strconv"

	"go.yaml.in/yaml/v3"
)

// The sections of a file from the ratings on.

// Bounds that keep a typing slip from becoming a plan.
const (
	mostWeeks = 12  // of a time box
	mostDays  = 60  // of effort or of lead time of a test
	mostCases = 1e6 // people or cases of a test
	mostDue   = 365 // days until an action is due
)

var (
	riskKinds = []string{"desirability", "viability", "feasibility", "usability"}
	decisions = []string{"build", "stop", "another"}
)

func (in *reader) readRatings(v value) {
	f := v.fields("round1", "round2")
	ballot := func(v value) map[string]Pair { return perAssumption(v, value.pair) }
	in.s.Ratings.Round1 = perPerson(f("round1"), "rating", ballot)
	in.s.Ratings.Round2 = perPerson(f("round2"), "rating", ballot)
}

// pair reads [importance, evidence].
func (v value) pair() Pair {
	const allowed = "a pair [importance, evidence]"
	both := v.needed(allowed).list(allowed)
	if v.given() && len(both) != 2 {
		v.wrong(allowed, "a list of %d is not allowed", len(both))
	}
	if len(both) != 2 {
		return Pair{}
	}
	// The path of the pair is enough: the noun says which half is meant.
	both[0].path, both[1].path = v.path, v.path
	return Pair{Importance: both[0].rating("importance"), Evidence: both[1].rating("evidence")}
}

func (v value) rating(noun string) int {
	return v.wholeOr(noun, 1, 9, 0, `a whole number from 1 to 9, or null for "can't say"`)
}

func (in *reader) readBacklog(v value) {
	f := v.fields("kinds", "tests")
	in.s.Backlog.Kinds = perAssumption(f("kinds"), func(v value) map[string]string {
		return perPerson(v, "backlog", func(v value) string { return v.choice("the kind of risk", riskKinds) })
	})
	in.s.Backlog.Tests = each(f("tests"), "a list of tests, each with at least assumption, by and method", value.test)
}

func (v value) test() Test {
	f := v.fields("assumption", "by", "method", "learn", "pass", "effort_days", "lead_days", "owner", "size")
	return Test{
		Assumption: f("assumption").assumption(),
		By:         f("by").speaker("backlog"),
		Method:     f("method").heading("how it is to be found out"),
		Learn:      f("learn").text(),
		Pass:       f("pass").passMark(),
		EffortDays: f("effort_days").number("effort_days", 0, mostDays, 1),
		LeadDays:   f("lead_days").number("lead_days", 0, mostDays, 0),
		Size:       f("size").whole("size", 1, mostCases, 0),
		Owner:      f("owner").personOr(""),
	}
}

// passMark reads {share}. A share of 0 is refused: no result could miss it.
func (v value) passMark() *Pass {
	if !v.given() {
		return nil
	}
	const allowed = "a number above 0 and at most 1"
	share := v.fields("share")("share").needed(allowed)
	p := &Pass{Share: share.numberOr("share", 0, 1, 0, allowed)}
	if share.given() && p.Share == 0 {
		share.wrong(allowed, "share %s is not allowed", shown(share.node))
	}
	return p
}

func (in *reader) readTimebox(v value) {
	if !v.given() {
		return
	}
	f := v.fields("votes", "set", "checkin", "stop_if", "build_if")
	in.s.Timebox = &Timebox{
		Votes: perPerson(f("votes"), "timebox", func(v value) int {
			return v.needed("a whole number of weeks").whole("weeks", 1, mostWeeks, 0)
		}),
		Set:     f("set").whole("weeks", 1, mostWeeks, 0),
		Checkin: weekday(f("checkin")),
		StopIf:  f("stop_if").text(),
		BuildIf: f("build_if").text(),
	}
}

func (in *reader) readActions(v value) {
	lead := ""
	if len(in.s.People) > 0 {
		lead = in.s.Lead().Key
	}
	in.s.Actions = each(v, "a list of actions, each {what, owner, due_days}", func(v value) Action {
		f := v.fields("what", "owner", "due_days")
		return Action{What: f("what").words("what is to be done"), DueDays: f("due_days").whole("due_days", 0, mostDue, 7),
			Owner: f("owner").personOr(lead)}
	})
}

func (in *reader) readUnderway(v value) {
	if !v.given() {
		return
	}
	f := v.fields("checkins", "decision")
	in.s.Underway = &Underway{
		Checkins: each(f("checkins"), "a list of check-ins, each {results, evidence, confidence}", value.checkin),
		Decision: f("decision").decision(),
	}
}

func (v value) checkin() Checkin {
	f := v.fields("results", "evidence", "confidence")
	var c Checkin
	for _, r := range f("results").list("a list of results, each {test, k, n}") {
		result := r.result()
		if slices.ContainsFunc(c.Results, func(o Result) bool { return o.Test == result.Test }) {
			r.wrong("one result for a test at each check-in", "test %d is reported twice", result.Test)
		}
		c.Results = append(c.Results, result)
	}
	c.Evidence = perPerson(f("evidence"), "underway", func(v value) map[string]int {
		return perAssumption(v, func(v value) int { return mark(v, "evidence") })
	})
	c.Confidence = perPerson(f("confidence"), "underway", func(v value) int { return mark(v, "confidence") })
	return c
}

// mark reads a rating for which "can't say" would mean nothing new.
func mark(v value, noun string) int {
	return v.needed("a whole number from 1 to 9").whole(noun, 1, 9, 0)
}

func (v value) result() Result {
	f := v.fields("test", "k", "n")
	test := f("test").testNumber()
	n := f("n").needed("how many were asked or tried").whole("n", 1, mostCases, 1)
	k := f("k").needed("how many of the n counted as support").whole("k", 0, n, 0)
	return Result{Test: test, K: k, N: n}
}

// testNumber reads the number of a test. Its owner reports the result, so they
// must not be silent.
func (v value) testNumber() int {
	tests := v.in.s.Backlog.Tests
	allowed := "there are no tests in backlog.tests"
	if len(tests) > 0 {
		allowed = "the number of a test from 1 to " + strconv.Itoa(len(tests))
	}
	n := v.needed(allowed).wholeOr("test", 1, len(tests), 0, allowed)
	if n > 0 {
		v.mustNotBeSilent(tests[n-1].Owner, "underway")
	}
	return n
}

func (v value) decision() *Decision {
	if !v.given() {
		return nil
	}
	choose := func(v value) string { return v.choice("the decision", decisions) }
	f := v.fields("votes", "set", "weeks")
	d := &Decision{Votes: perPerson(f("votes"), "underway", choose), Set: choose(f("set"))}
	another := d.Set == "another"
	for _, vote := range d.Votes {
		another = another || vote == "another"
	}
	d.Weeks = furtherWeeks(f("weeks"), another)
	return d
}

// furtherWeeks reads the length of another time box, if one is wanted.
func furtherWeeks(v value, wanted bool) int {
	if v.given() && !wanted {
		v.wrong("leave it out, or decide another", "weeks count only for another time box")
	}
	if !wanted {
		return 0
	}
	if v.given() && (v.node.Kind != yaml.ScalarNode || (v.node.Value != "2" && v.node.Value != "4")) {
		v.wrong("2 or 4", "weeks %s is not allowed", shown(v.node))
	}
	return v.whole("weeks", 2, 4, 2)
}
