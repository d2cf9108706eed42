package words

import (
	"fmt"

	"soundings/engine"
	"soundings/flows/state"
)

// ResultText is a report of a test as it was given, and what the test has come
// to with it: "6 of 9 more. 15 of 21, pass mark 60%: …"
func ResultText(k state.Kickoff, r state.TestResult) string {
	reports, found := state.Results(k.Underway, r.Test), state.Finding(&k, r)
	_, corrected := state.Correction(reports, r.Entry)
	wrong, corrects := state.Numbered(reports, r.Corrects)
	given := GivenText(k, r)
	switch {
	case corrected:
		return given + ". This was corrected later and does not count."
	case corrects:
		return fmt.Sprintf("A correction: %s in place of %s. %s", given, GivenText(k, wrong), SentenceCase(testText(k, r, found)))
	case found.Each:
		return given + "; " + testText(k, r, found)
	case r.Entry > 0 && found.N > r.N:
		return given + " more. In all " + FindingText(found)
	}
	return FindingText(found)
}

// testText is what a test has come to.
func testText(k state.Kickoff, r state.TestResult, found engine.Finding) string {
	t := k.Backlog.Tests[r.Test-1]
	switch {
	case !found.Each:
		return "In all " + FindingText(found)
	case found.N == 1:
		return fmt.Sprintf("%s counts as support: %s.", PassMark(t), found.Verdict)
	}
	return fmt.Sprintf("%s counts as support; %d of %d reports met it: %s.", PassMark(t), found.K, found.N, found.Verdict)
}

// GivenText is a report in the words of its pass mark: "9 of 12", "13 minutes", "yes".
func GivenText(k state.Kickoff, r state.TestResult) string {
	t := k.Backlog.Tests[r.Test-1]
	switch {
	case t.Bound.Unit != "":
		return Number(engine.Figure(r.Figure)) + " " + t.Bound.Unit
	case t.YesNo && r.K == 1:
		return "yes"
	case t.YesNo:
		return "no"
	}
	return fmt.Sprintf("%d of %d", r.K, r.N)
}
