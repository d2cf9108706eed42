package engine

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A Plan says when the tests of a backlog are done with the people at hand,
// and how soon each test-first assumption has a first result.
type Plan struct {
	Tests     []PlannedTest `json:"tests"`      // as given
	TestFirst int           `json:"test_first"` // how many assumptions are to be tested first

	// Weeks tells for each week of the plan how many test-first assumptions
	// have a first result by its end. It stops at the week after which nothing
	// changes, or after a year; it is empty when nothing is to be tested first.
	Weeks []PlanWeek `json:"weeks"`

	// FirstAll is the first week by whose end all test-first assumptions have
	// a first result; 0 when that never happens, or there are none.
	FirstAll int `json:"first_all"`

	// Missing lists the test-first assumptions that never have a result:
	// without a test, or with none that anybody at hand can do.
	Missing []string `json:"missing"`

	// Firsts lists the test-first assumptions, in test order, with the week of
	// their first result and their share of the risk.
	Firsts []FirstResult `json:"firsts"`

	Effort  float64 `json:"effort"`   // person-days that all tests take
	PerWeek float64 `json:"per_week"` // days that the team gives each week
}

// A FirstResult says when a test-first assumption has its first result. Risk
// is its share of the risk of all of them, by rank alone: of n, the first
// weighs n, the next n-1, the last 1 (rank-sum weights: Stillwell W.G., Seaver
// D.A. & Edwards W. 1981, Organizational Behavior and Human Performance 28,
// 62-77). Ratings are ordinal, so no size of risk could be read off them.
type FirstResult struct {
	Assumption string  `json:"assumption"`
	Week       int     `json:"week"` // 0: never, with the people at hand
	Risk       float64 `json:"risk"` // 0 to 1
}

// A PlanWeek is the progress of a plan at the end of one week.
type PlanWeek struct {
	Week  int     `json:"week"`  // from 1
	Done  int     `json:"done"`  // test-first assumptions with a first result
	Share float64 `json:"share"` // of all test-first assumptions, 0 to 1
}

// longestPlan is the weeks that a plan shows at most.
const longestPlan = 52

// MakePlan schedules tests, given in test order, on the days that the team can
// give, and counts from that when the assumptions to be tested first have
// their first result.
//
//   - testFirst lists their ids; an id given twice counts once.
//   - A test with an owner is done by its owner, who must be in the team or
//     the test is never done. A test without goes to whoever can begin it
//     first, and of equals to the one named first.
//   - Someone who gives d days a week does d/5 of a person-day in a working
//     day: 3 person-days take 7.5 working days at 2 days a week. Who gives
//     nothing does nothing; more than 7 days count as 7.
//   - A lead time of n working days begins with the time box; the work cannot
//     begin before it is over. Amounts below 0 count as 0.
//
// Each test takes the first gap in the diary of whoever does it, so an earlier
// test is never delayed by a later one.
func MakePlan(testFirst []string, tests []PlanTest, team []Capacity) Plan {
	p := Plan{Tests: schedule(tests, team)}
	for _, t := range tests {
		p.Effort += max(0, t.Effort)
	}
	for _, c := range team {
		p.PerWeek += c.pace() * WorkingWeek
	}
	first := firstResults(p.Tests)
	var ends []float64
	for i, id := range testFirst {
		if slices.Contains(testFirst[:i], id) {
			continue
		}
		p.TestFirst++
		result := FirstResult{Assumption: id}
		if end, ok := first[id]; ok {
			ends = append(ends, end)
			result.Week = weekOf(end)
		} else {
			p.Missing = append(p.Missing, id)
		}
		p.Firsts = append(p.Firsts, result)
	}
	for i := range p.Firsts {
		n := len(p.Firsts)
		p.Firsts[i].Risk = 2 * float64(n-i) / float64(n*(n+1))
	}
	p.Weeks = planWeeks(ends, p.TestFirst)
	if len(ends) > 0 && len(p.Missing) == 0 {
		p.FirstAll = weekOf(slices.Max(ends))
	}
	return p
}

// firstResults gives the end of the first test of each assumption that has
// one with an end.
func firstResults(tests []PlannedTest) map[string]float64 {
	first := map[string]float64{}
	for _, t := range tests {
		if !t.End.Defined() {
			continue
		}
		if end, ok := first[t.Assumption]; !ok || float64(t.End) < end {
			first[t.Assumption] = float64(t.End)
		}
	}
	return first
}

// weekOf is the week, from 1, in which the working day end lies. The end of a
// week belongs to that week.
func weekOf(end float64) int { return max(1, int(math.Ceil(end/WorkingWeek-hair))) }

func planWeeks(ends []float64, all int) []PlanWeek {
	if all == 0 {
		return nil
	}
	last := 1
	for _, end := range ends {
		last = max(last, weekOf(end))
	}
	weeks := make([]PlanWeek, min(last, longestPlan))
	for i := range weeks {
		weeks[i].Week = i + 1
		for _, end := range ends {
			if weekOf(end) <= i+1 {
				weeks[i].Done++
			}
		}
		weeks[i].Share = float64(weeks[i].Done) / float64(all)
	}
	return weeks
}

// Brings lists the assumptions that have their first result in the given week,
// and what share of the risk that is.
func (p Plan) Brings(week int) (ids []string, risk float64) {
	for _, f := range p.Firsts {
		if f.Week == week {
			ids, risk = append(ids, f.Assumption), risk+f.Risk
		}
	}
	return ids, risk
}

// Untested lists, in test order, what has no first result by the end of the
// given week, and what share of the risk that is.
func (p Plan) Untested(week int) (ids []string, risk float64) {
	for _, f := range p.Firsts {
		if f.Week == 0 || f.Week > week {
			ids, risk = append(ids, f.Assumption), risk+f.Risk
		}
	}
	return ids, risk
}

// doneBy is how many test-first assumptions have a first result by the end of
// the given week.
func (p Plan) doneBy(week int) int {
	if len(p.Weeks) == 0 || week < 1 {
		return 0
	}
	return p.Weeks[min(week, len(p.Weeks))-1].Done
}

// barWidth is the characters of a full bar: a phone shows the line unbroken.
const barWidth = 10

// Bars draws the weeks of a plan as lines of text, the figures first so that
// they can be read aloud:
//
//	week 1: 1 of 3 ███░░░░░░░
//	week 2: 3 of 3 ██████████
//
// A bar is full only when all is done, and begun as soon as something is.
func Bars(p Plan) []string {
	lines := make([]string, len(p.Weeks))
	for i, w := range p.Weeks {
		full := int(w.Share * barWidth)
		if w.Done > 0 {
			full = max(full, 1)
		}
		lines[i] = fmt.Sprintf("week %*d: %d of %d %s%s", digits(len(p.Weeks)), w.Week, w.Done, p.TestFirst,
			strings.Repeat("█", full), strings.Repeat("░", barWidth-full))
	}
	return lines
}

func digits(n int) int { return len(fmt.Sprint(n)) }
