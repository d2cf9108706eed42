package engine

import (
	"cmp"
	"math"
	"slices"
)

// WorkingWeek is the working days of a week in a [Plan]. Plans are made in
// working days counted from the start of the time box, whatever the weekdays.
const WorkingWeek = 5

// A PlanTest is a test that someone proposed for an assumption.
type PlanTest struct {
	Assumption string  `json:"assumption"`
	Effort     float64 `json:"effort"` // person-days of work
	Lead       float64 `json:"lead"`   // working days of waiting before the work can begin
	Owner      string  `json:"owner"`  // empty: whoever is free
}

// A Capacity is how many days a week a person can give.
type Capacity struct {
	ID   string  `json:"id"`
	Days float64 `json:"days"`
}

// pace is the person-days of work that c does in one working day.
func (c Capacity) pace() float64 {
	if !(c.Days > 0) {
		return 0
	}
	return min(c.Days, 7) / WorkingWeek
}

// A PlannedTest is a test with its place in the plan. Start and End are in
// working days from the start of the time box, and undefined when nobody at
// hand can do the test.
type PlannedTest struct {
	PlanTest
	By    string `json:"by"` // who does it
	Start Figure `json:"start"`
	End   Figure `json:"end"`
}

// Week is the week, from 1, by whose end the test has its result; 0 when it
// is never done.
func (t PlannedTest) Week() int {
	if !t.End.Defined() {
		return 0
	}
	return weekOf(float64(t.End))
}

// schedule gives each test its place, in the order given: serial list
// scheduling, as for projects with limited people (Kolisch R. 1996, European
// J. Operational Research 90, 320-333, from memory). Each test takes the first
// gap that is long enough, so that a later test may use the time in which an
// earlier one waits, and never delays it.
//
// Waiting begins with the time box and costs nobody's time: people are
// recruited and papers signed while other work goes on. Work on one test is
// not broken up, and goes at the pace of whoever does it.
func schedule(tests []PlanTest, team []Capacity) []PlannedTest {
	busy := make([]diary, len(team))
	planned := make([]PlannedTest, len(tests))
	for i, test := range tests {
		planned[i] = PlannedTest{PlanTest: test, Start: Undefined(), End: Undefined()}
		who, start := firstFree(test, team, busy)
		if who < 0 {
			continue
		}
		end := start + spell(test, team[who])
		busy[who].book(start, end)
		planned[i].By, planned[i].Start, planned[i].End = team[who].ID, Figure(start), Figure(end)
	}
	return planned
}

// firstFree finds who can begin test first, the earlier named of equals, and
// when. It gives -1 when nobody can.
func firstFree(test PlanTest, team []Capacity, busy []diary) (who int, start float64) {
	who, start = -1, math.Inf(1)
	for i, c := range team {
		if c.pace() == 0 || test.Owner != "" && test.Owner != c.ID {
			continue
		}
		if at := busy[i].gap(sane(test.Lead), spell(test, c)); at < start {
			who, start = i, at
		}
	}
	return who, start
}

// spell is how many working days c takes for the work of test.
func spell(test PlanTest, c Capacity) float64 { return sane(test.Effort) / c.pace() }

// sane reads what is no amount as nothing.
func sane(days float64) float64 {
	if !(days > 0) {
		return 0
	}
	return days
}

// A diary is when one person is busy: spans apart from each other, in order.
type diary []struct{ start, end float64 }

// hair is less than any working time that matters, and more than the noise of
// sums of fractions.
const hair = 1e-9

// gap is the first moment, not before earliest, at which a spell of the given
// length fits.
func (d diary) gap(earliest, length float64) float64 {
	for _, b := range d {
		if earliest+length <= b.start+hair {
			break
		}
		earliest = max(earliest, b.end)
	}
	return earliest
}

// book notes a spell that gap found room for. One without length takes none.
func (d *diary) book(start, end float64) {
	if start == end {
		return
	}
	at, _ := slices.BinarySearchFunc(*d, start, func(b struct{ start, end float64 }, s float64) int {
		return cmp.Compare(b.start, s)
	})
	*d = slices.Insert(*d, at, struct{ start, end float64 }{start, end})
}
