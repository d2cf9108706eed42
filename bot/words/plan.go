package words

import (
	"fmt"
	"math"
	"slices"

	"soundings/engine"
	"soundings/flows/state"
)

// PlanText says in two sentences what the results of a test will count as, and
// how often it would mislead: "With 12 people or cases and a mark of 60%: 8 or more
// support the belief, 3 or fewer speak against it. A belief true for only 45% would
// still pass 11 times in 100; with 19 people or cases 9 times." It is empty
// where there is no pass mark.
func PlanText(p engine.TestPlan) string {
	switch {
	case p.Mark <= 0 || p.Mark > 1:
		return ""
	case p.N == 0:
		return unplannedText(p)
	case p.Census:
		return fmt.Sprintf("These %d are all there are: %s support the belief, fewer speak against it.", p.N, orMore(p.SupportFrom(), p.N))
	}
	below, _ := engine.NearMark(p.Mark)
	text := countsText(p) + fmt.Sprintf(" A belief true for only %s would still pass %s", percent(below), inHundred(p.Passes(below)))
	if n := BetterSize(p); n > 0 {
		text += fmt.Sprintf("; with %d people or cases %s", n, timesOf(engine.TestPlan{N: n, Mark: p.Mark}.Passes(below)))
	}
	return text + "."
}

// countsText: "With 12 people or cases and a mark of 60%: 8 or more support the belief, 3 or fewer speak against it."
func countsText(p engine.TestPlan) string {
	against := "no result speaks against it"
	switch to := p.RefuteTo(); {
	case to == 0:
		against = "none at all speaks against it"
	case to > 0:
		against = fmt.Sprintf("%d or fewer speak against it", to)
	}
	return fmt.Sprintf("With %s and a mark of %s: %s support the belief, %s.", cases(p.N), percent(p.Mark), orMore(p.SupportFrom(), p.N), against)
}

func unplannedText(p engine.TestPlan) string {
	text := "Without a number of people or cases there is no verdict until the result is beyond chance."
	if n := BetterSize(p); n > 0 {
		text += fmt.Sprintf(" With %d a mark of %s misleads about one time in ten at most.", n, percent(p.Mark))
	}
	return text
}

// BetterSize is the number of people or cases to offer for a plan, with which
// it misleads at most one time in ten; 0 where it already does, or no sensible
// number would.
func BetterSize(p engine.TestPlan) int {
	below, above := engine.NearMark(p.Mark)
	if p.Census || p.N > 0 && p.Passes(below) <= engine.OneInTen && p.Misses(above) <= engine.OneInTen {
		return 0
	}
	size, err := engine.MarkSize(p.Mark, below, above, engine.OneInTen)
	if err != nil || size.N <= p.N {
		return 0
	}
	return size.N
}

// HowCounted explains the figures of a plan, for whoever asks.
func HowCounted(p engine.TestPlan) string {
	below, above := engine.NearMark(p.Mark)
	text := fmt.Sprintf("It supports the belief when at least %s of those who were planned say so, and speaks against it when even "+
		"a lucky true share would not reach that (the 95%% interval of Wilson lies below the mark). In between it is not clear.", percent(p.Mark))
	if p.N > 0 {
		text += fmt.Sprintf(" How often that misleads is counted exactly (binomial): a belief true for %s passes %s, and one true for %s falls short %s.",
			percent(below), inHundred(p.Passes(below)), percent(above), inHundred(p.Misses(above)))
	}
	return text + " Nearer to the mark every test misleads more often. It supposes that the people or cases were not picked to please."
}

// MarkReportText is a plan for a terminal.
func MarkReportText(r engine.MarkReport) string {
	p := engine.TestPlan{N: r.N, Mark: r.Mark}
	text := countsText(p) + "\n" +
		fmt.Sprintf("True for only %s, it would still pass %s.\n", percent(r.Below), inHundred(r.FalsePass)) +
		fmt.Sprintf("True for %s, it would fall short %s.\n", percent(r.Above), inHundred(r.FalseMiss))
	switch {
	case r.OneInTen == nil:
		text += "No sensible number brings both to one in ten.\n"
	case *r.OneInTen != r.N:
		text += fmt.Sprintf("The smallest number with both at one in ten or less: %d\n", *r.OneInTen)
	}
	return text + r.Source + "\n"
}

func cases(n int) string {
	if n == 1 {
		return "1 person or case"
	}
	return fmt.Sprintf("%d people or cases", n)
}

// orMore: "8 or more", or "all 12" where nothing is more.
func orMore(k, n int) string {
	if k == n {
		return fmt.Sprintf("all %d", n)
	}
	return fmt.Sprintf("%d or more", k)
}

func percent(share float64) string { return Number(engine.Figure(math.Round(share*1000)/10)) + "%" }

// inHundred says a chance as people say it: "11 times in 100".
func inHundred(chance float64) string { return timesOf(chance) + " in 100" }

func timesOf(chance float64) string {
	switch n := int(math.Round(chance * 100)); {
	case n == 0:
		return "less than once"
	case n == 1:
		return "once"
	case n == 100 && chance < 1:
		return "more than 99 times"
	default:
		return fmt.Sprintf("%d times", n)
	}
}

// PassMark is the result that counts as support, "80% of 60", or that there is none.
func PassMark(t state.Test) string {
	of := ""
	if t.Size > 0 {
		of = fmt.Sprintf(" of %d", t.Size)
	}
	switch {
	case t.YesNo:
		return "a yes"
	case t.Bound.Unit != "" && t.Bound.AtMost:
		return fmt.Sprintf("at most %s %s", Number(engine.Figure(t.Bound.At)), t.Bound.Unit)
	case t.Bound.Unit != "":
		return fmt.Sprintf("at least %s %s", Number(engine.Figure(t.Bound.At)), t.Bound.Unit)
	}
	if t.PassShare == 0 {
		if t.Size > 0 {
			return fmt.Sprintf("no pass mark yet (%d planned)", t.Size)
		}
		return "no pass mark yet"
	}
	if t.PassShare == 1 {
		return "all" + of
	}
	return fmt.Sprintf("at least %s%%%s", Number(engine.Figure(t.PassShare*100)), of)
}

// EffortText is what a test takes: "3 days of work, 2 days to wait".
func EffortText(t state.Test) string {
	text := Days(t.EffortDays) + " of work"
	if t.LeadDays > 0 {
		text += ", " + Days(t.LeadDays) + " to wait"
	}
	return text
}

// TestsText says how many tests there are, and what comes first without one.
func TestsText(k state.Kickoff) string {
	n, without := 0, Untested(k)
	for _, t := range k.Backlog.Tests {
		if !t.Withdrawn {
			n++
		}
	}
	text := "No test has been planned yet."
	if n > 0 {
		text = fmt.Sprintf("%s planned.", Count(n, "test is", "tests are"))
	}
	if len(without) > 0 {
		text += fmt.Sprintf(" To test first, and without a test: %s.", Listed(without, 10))
	}
	return text
}

// Untested lists what comes first and has no test.
func Untested(k state.Kickoff) []string {
	var out []string
	for _, id := range k.InZone(engine.TestFirst) {
		if len(k.TestsOf(id)) == 0 {
			out = append(out, id)
		}
	}
	return out
}

// NeedsCare reports whether a test touches health, children, or people who depend on
// whoever asks.
func NeedsCare(k state.Kickoff) bool {
	return slices.ContainsFunc(k.Backlog.Tests, func(t state.Test) bool { return t.Care && !t.Withdrawn })
}
