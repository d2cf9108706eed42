package engine

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// A Proposal is how many weeks a time box should have, and why.
type Proposal struct {
	Weeks   int    `json:"weeks"`
	Band    [2]int `json:"band"`              // fewest and most weeks for a map like this
	Typical int    `json:"typical"`           // usual for a map like this
	Why     string `json:"why"`               // what a lead can read aloud: a sentence or two, and one more with an outlook
	Decided string `json:"decided,omitempty"` // what decided, where there was an outlook: one of the Decided constants
}

// What can have decided about the weeks.
const (
	DecidedPlan   = "plan"                // the week in which all have a first result
	DecidedMap    = "map"                 // the band of the map: its importance and its evidence
	DecidedRisk   = "risk"                // what a mistake would cost
	DecidedBelief = "confidence"          // how likely people think it that this is worth building
	DecidedBoth   = "risk and confidence" // the last two together
)

// A Cost is what being wrong would cost.
type Cost string

// The costs, from the least to the most.
const (
	CostDay     Cost = "day"     // a day of work
	CostQuarter Cost = "quarter" // a quarter of a year
	CostName    Cost = "name"    // the company's good name
)

// Costs lists them, from the least to the most.
func Costs() []Cost { return []Cost{CostDay, CostQuarter, CostName} }

// An Outlook is what a group thinks before the first test: how likely it is
// that this is worth building, from 1 (surely not) to 9 (surely), undefined
// where nobody said; and what being wrong would cost, empty likewise.
type Outlook struct {
	Worth Figure
	Cost  Cost
}

// A band is how long discoveries of one kind usually take, in weeks.
type band struct {
	low, typical, high int
	kind               string // completes "… is usual for"
}

// The bands: common practice, no source. None is open-ended: what a band
// cannot hold is taken up by a renewal.
var (
	bandShort = band{2, 2, 3, "little risk and good evidence"}
	bandUsual = band{3, 4, 5, "a map like this"}
	bandLong  = band{4, 6, 6, "high risk and little evidence"}
)

// Renewals lists the weeks that another time box may have (common practice,
// no source).
func Renewals() []int { return []int{2, 4} }

// bandFor picks the band from the cuts of the map, which are the medians of
// its medians: long when importance is in the upper third and evidence in the
// lower; short when evidence is in the upper third, or nothing is to be tested
// first; else usual, also where a cut is undefined.
func bandFor(p Plan, cut Cut) band {
	switch {
	case p.TestFirst == 0 || cut.Evidence >= upperThird:
		return bandShort
	case cut.Importance >= upperThird && cut.Evidence < middleThird:
		return bandLong
	}
	return bandUsual
}

// ProposeWeeks proposes the length of the time box: the first week by whose
// end each test-first assumption has a first result, kept inside the band
// that risk and evidence suggest.
//
// The bands are common practice, without a source:
//
//   - 2 to 3 weeks, usually 2: good evidence (the evidence cut is 6.5 or more),
//     or nothing to test first;
//   - 4 to 6 weeks, usually 6: high risk and little evidence (the importance
//     cut is 6.5 or more and the evidence cut below 3.5);
//   - 3 to 5 weeks, usually 4: all else, and maps without a cut.
//
// A plan that never ends gets the most weeks of its band: time to find those
// tests, and still an end.
func ProposeWeeks(p Plan, cut Cut) Proposal {
	b := bandFor(p, cut)
	weeks, why := b.fit(p)
	return Proposal{Weeks: weeks, Band: [2]int{b.low, b.high}, Typical: b.typical, Why: why}
}

// ProposeWeeksWith does the same for a group that has said what it thinks. More
// to lose and less confidence argue for more time, the reverse for less: the
// company's name at stake and a worth below 3.5 count one step up each, no more
// than a day and a worth of 6.5 or more one step down each. Where the steps do
// not cancel out, the next longer or shorter band is taken (common practice, no
// source). An outlook in which nobody said anything changes nothing, nor does
// any where there is nothing to test first.
func ProposeWeeksWith(p Plan, cut Cut, o Outlook) Proposal {
	plain := ProposeWeeks(p, cut)
	if o.Cost == "" && !o.Worth.Defined() {
		return plain
	}
	steps, because, decided := o.steps()
	all := []band{bandShort, bandUsual, bandLong}
	b := bandFor(p, cut)
	if at := slices.Index(all, b) + steps; steps != 0 && p.TestFirst > 0 && at >= 0 && at < len(all) {
		b, b.kind = all[at], b.kind+" when "+because
	}
	out := Proposal{Band: [2]int{b.low, b.high}, Typical: b.typical}
	out.Weeks, out.Why = b.fit(p)
	switch {
	case out.Weeks != plain.Weeks:
		out.Decided = decided
	case p.TestFirst == 0 || p.FirstAll == out.Weeks:
		out.Decided = DecidedPlan
	default:
		out.Decided = DecidedMap
	}
	out.Why += " What decided: " + decidedText[out.Decided] + "."
	return out
}

var decidedText = map[string]string{
	DecidedPlan: "the plan", DecidedMap: "risk and evidence, as the map shows them",
	DecidedRisk: "the risk", DecidedBelief: "the confidence", DecidedBoth: "risk and confidence",
}

// steps says by how many bands an outlook moves the proposal, -1, 0 or 1, why,
// and which of risk and confidence does it.
func (o Outlook) steps() (n int, because, decided string) {
	risk, belief := 0, 0
	switch o.Cost {
	case CostDay:
		risk = -1
	case CostName:
		risk = 1
	}
	switch {
	case !o.Worth.Defined():
	case o.Worth < middleThird:
		belief = 1
	case o.Worth >= upperThird:
		belief = -1
	}
	costs := map[int]string{-1: "a mistake would cost a day of work", 1: "a mistake would cost the company’s good name"}[risk]
	beliefs := map[int]string{-1: "confidence is high", 1: "confidence is low"}[belief]
	switch {
	case risk+belief == 0:
		return 0, "", ""
	case belief == 0:
		return risk, costs, DecidedRisk
	case risk == 0:
		return belief, beliefs, DecidedBelief
	}
	return risk, costs + " and " + beliefs, DecidedBoth
}

// fit keeps the plan inside the band, and says why.
func (b band) fit(p Plan) (weeks int, why string) {
	switch {
	case p.TestFirst == 0:
		return b.typical, fmt.Sprintf("No assumption has to be tested first, so a short time box of %d weeks will do.", b.typical)
	case p.FirstAll == 0:
		return b.high, fmt.Sprintf("%s no test yet, or nobody who has days for it, so nobody can say when the plan ends. %d weeks are the most that is usual for %s.",
			listOf(p.Missing), b.high, b.kind)
	case p.FirstAll < b.low:
		return b.low, fmt.Sprintf("%s a first result by the end of week %d. %d weeks are the least that is usual for %s, which leaves time to act on what is found.",
			allHave(p.TestFirst), p.FirstAll, b.low, b.kind)
	case p.FirstAll > b.high:
		return b.high, fmt.Sprintf("%d weeks are the most that is usual for %s. By then %s of the %d assumptions to test first %s a first result; the whole plan takes %d weeks.",
			b.high, b.kind, countOf(p.doneBy(b.high)), p.TestFirst, have(p.doneBy(b.high)), p.FirstAll)
	}
	return p.FirstAll, fmt.Sprintf("%s a first result by the end of week %d, if everyone gives the days they named.",
		allHave(p.TestFirst), p.FirstAll)
}

func allHave(n int) string {
	if n == 1 {
		return "The one assumption to test first has"
	}
	return fmt.Sprintf("All %d assumptions to test first have", n)
}

// have is the verb for n things of several, or none.
func have(n int) string {
	if n <= 1 {
		return "has"
	}
	return "have"
}

// listOf names ids with their verb, the first three of many.
func listOf(ids []string) string {
	const most = 3
	switch n := len(ids); {
	case n == 0:
		return "Some assumption has"
	case n == 1:
		return ids[0] + " has"
	case n <= most:
		return strings.Join(ids[:n-1], ", ") + " and " + ids[n-1] + " have"
	default:
		return fmt.Sprintf("%s and %d more assumptions have", strings.Join(ids[:most], ", "), n-most)
	}
}

func countOf(n int) string {
	if n == 0 {
		return "none"
	}
	return strconv.Itoa(n)
}
