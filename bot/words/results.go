package words

import (
	"fmt"
	"strings"
	"time"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/views"
	"soundings/flows/workdays"
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
		return fmt.Sprintf("%s counts as support: %s.", PassMark(t), verdictWord(found.Verdict))
	}
	return fmt.Sprintf("%s counts as support; %d of %d reports met it: %s.", PassMark(t), found.K, found.N, verdictWord(found.Verdict))
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

// PlacedText says where an assumption was laid on the map that came after it was
// made: "Importance 8, evidence 2: “test first”. Too few have rated it."
func PlacedText(a engine.AssumptionScore) string {
	if few := min(a.Importance.N, a.Evidence.N); few < state.FewestRaters {
		return fmt.Sprintf("“%s”. %s it, too few for figures, so its place on the map is rough.",
			SentenceCase(ZoneText(a.Zone)), Count(few, "person rated", "people rated"))
	}
	text := fmt.Sprintf("Importance %s, evidence %s: “%s”.", Number(a.Importance.Median), Number(a.Evidence.Median), ZoneText(a.Zone))
	if a.Thin {
		text += fmt.Sprintf(" Only %s it, so take that with care.", Count(a.Evidence.N, "person rated", "people rated"))
	}
	return text
}

// LeftText says what a further time box begins with: what is left, and what is new.
func LeftText(k state.Kickoff) string {
	var left, bare, fresh []string
	for _, id := range k.Order() {
		a, _ := k.Assumption(id)
		s, placed := k.Scored(id)
		open := false
		for _, t := range k.TestsOf(id) {
			found, reported := state.Found(&k, t.N)
			open = open || !reported || found.Verdict == engine.SoFar
		}
		switch {
		case a.Since > 0 && !placed:
			fresh = append(fresh, id)
		case open:
			left = append(left, id)
		case s.Zone == engine.TestFirst && len(k.TestsOf(id)) == 0:
			bare = append(bare, id)
		}
	}
	var parts []string
	for _, part := range []struct {
		ids  []string
		says string
	}{{left, "Still to be tested: %s."}, {bare, "Without a test, though it comes first: %s."}, {fresh, "New, to be rated at the next check-in: %s."}} {
		if len(part.ids) > 0 {
			parts = append(parts, fmt.Sprintf(part.says, And(part.ids, 8)))
		}
	}
	if len(parts) == 0 {
		return "No planned test is left, so it begins with new ones."
	}
	return "It begins with what is left and what is new. " + strings.Join(parts, " ")
}

// ConfidenceWent says how confidence went: "Confidence went from 5 of 9 before the tests to
// 4, then 3." Where there are no two figures, it is what is told of the last check-in.
func ConfidenceWent(k state.Kickoff) string {
	var went []string
	if b := k.Timebox.Baseline(); b.Median.Defined() {
		went = append(went, Number(b.Median)+" of 9 before the tests")
	}
	last := state.SaidOf(nil)
	for _, c := range k.Underway.Checkins {
		if said := state.ConfidenceOf(c); said.N > 0 && !c.Closed.IsZero() {
			if last = said; said.Median.Defined() && len(went) == 0 {
				went = append(went, Number(said.Median)+" of 9")
			} else if said.Median.Defined() {
				went = append(went, Number(said.Median))
			}
		}
	}
	if len(went) < 2 || !last.Median.Defined() {
		return ConfidenceNow(last)
	}
	return fmt.Sprintf("Confidence went from %s to %s.", went[0], strings.Join(went[1:], ", then "))
}

// OpenEnds says what is still open before a vote, and how confidence went:
// "Confidence went from 5 of 9 to 4, then 3. 2 questions about the brief have no answer.
// 1 action is late."
func OpenEnds(k state.Kickoff, now time.Time) string {
	var out []string
	if went := ConfidenceWent(k); went != "" {
		out = append(out, went)
	}
	if open := len(views.OpenQuestions(k.Brief)); open > 0 {
		out = append(out, Count(open, "question about the brief has", "questions about the brief have")+" no answer.")
	}
	if late := len(lateActions(k, now)); late > 0 {
		out = append(out, Count(late, "action is", "actions are")+" late.")
	}
	return strings.Join(out, " ")
}

// lateActions lists the actions that were due before today, where the lead is.
func lateActions(k state.Kickoff, now time.Time) []state.Action {
	return k.LateActions(workdays.DayAt(k.LeadHours(), now))
}

// LateText names what is late, in one line; empty where nothing is.
func LateText(k state.Kickoff, now time.Time) string {
	late := lateActions(k, now)
	if len(late) == 0 {
		return ""
	}
	a := late[0]
	return fmt.Sprintf("“%s” (%s, %s)", Clip(OneLine(a.What), 100), Clip(k.Name(a.Owner), 40), DayText(a.Due)) + andMore(len(late)-1) + "."
}

// StillAskedText names the questions about the brief that nobody has answered, in one
// line; empty where there are none.
func StillAskedText(k state.Kickoff) string {
	open := views.OpenQuestions(k.Brief)
	if len(open) == 0 {
		return ""
	}
	text := fmt.Sprintf("“%s”", Clip(OneLine(open[0].Ask), 120))
	if len(open) > 1 {
		text += andMore(len(open)-1) + "."
	}
	return text
}

func andMore(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(", and %d more", n)
}

// AnsweredText counts who has said at a check-in how confident they are: the core
// team, which is asked, and whoever said so besides.
func AnsweredText(k state.Kickoff, c state.Checkin) string {
	core := k.InRing(state.Core)
	all, ofCore := c.Voters(core)
	others := all - ofCore
	if others == 0 {
		return fmt.Sprintf("%d of %d in the core team have said how confident they are.", ofCore, len(core))
	}
	return fmt.Sprintf("%s said how confident they are: %d of %d in the core team, and %s.",
		Count(all, "person has", "people have"), ofCore, len(core), Count(others, "other", "others"))
}

// TestedText says how far the tests are: "2 of 6 assumptions to test first have a result."
func TestedText(p views.Progress) string {
	switch {
	case p.TestFirst == 0:
		return "Nothing had to be tested first."
	case p.TestFirst == 1:
		return fmt.Sprintf("%d of 1 assumption to test first has a result.", p.Tested)
	}
	return fmt.Sprintf("%d of %d assumptions to test first have a result.", p.Tested, p.TestFirst)
}

// verdicts are what tests can come to, in words; in JSON they keep the engine's.
var verdicts = []struct {
	verdict engine.Verdict
	name    string
}{{engine.Supported, "Turned out true"}, {engine.Refuted, "Turned out not true"}, {engine.NotClear, "Not clear yet"}, {engine.SoFar, "No verdict so far"}}

// VerdictText is what the tests of one belief came to, a sentence; it is empty without a
// result.
func VerdictText(v engine.Verdict) string {
	for _, kind := range verdicts {
		if kind.verdict == v {
			return kind.name + "."
		}
	}
	return ""
}

// verdictWord names a verdict within a sentence.
func verdictWord(v engine.Verdict) string {
	text := strings.TrimSuffix(VerdictText(v), ".")
	return strings.ToLower(text[:1]) + text[1:]
}

// FoundText says what became of what was tested: "Turned out true: A3, A1. Turned out not true: A2."
func FoundText(k state.Kickoff) string {
	var parts []string
	for _, kind := range verdicts {
		var ids []string
		for _, id := range k.Order() {
			if state.VerdictOf(&k, id) == kind.verdict {
				ids = append(ids, id)
			}
		}
		if len(ids) > 0 {
			parts = append(parts, fmt.Sprintf("%s: %s.", kind.name, Listed(ids, 6)))
		}
	}
	if len(parts) == 0 {
		return noResult
	}
	return strings.Join(parts, " ")
}

const noResult = "No test has a result yet."

// TestedAndFound says how far the tests are, and what came of them.
func TestedAndFound(k state.Kickoff, p views.Progress) string {
	found := FoundText(k)
	if found == noResult {
		return found
	}
	return TestedText(p) + " " + found
}

// DaysLeftText says how much of the time box is left.
func DaysLeftText(p views.Progress) string {
	switch {
	case p.Over:
		return "The time box is over."
	case p.DaysLeft == 0:
		return "The time box ends today."
	}
	return fmt.Sprintf("%s left.", Count(p.DaysLeft, "day is", "days are"))
}

// FindingText says what k of n comes to, and how far chance could have moved
// it: "9 of 12, pass mark 60%: turned out true, but only just. …", or before the planned
// number "5 of 8 so far, 12 planned, pass mark 60%: no verdict yet."
func FindingText(f engine.Finding) string {
	text := fmt.Sprintf("%d of %d", f.K, f.N)
	mark := fmt.Sprintf("pass mark %s%%", Number(engine.Figure(f.Mark*100)))
	planned, verdict := fmt.Sprintf("%d planned", f.Planned), verdictWord(f.Verdict)
	if f.Planned == 0 {
		planned = "no number planned"
	}
	switch {
	case f.Mark <= 0:
		text += ", with no pass mark to hold it against"
	case f.Census && f.Verdict == engine.SoFar:
		return text + fmt.Sprintf(" so far, %d in all, %s: no verdict yet.", f.Planned, mark)
	case f.Census && f.N >= f.Planned:
		return text + fmt.Sprintf(", these are all there are, %s: %s.", mark, verdict)
	case f.Census:
		return text + fmt.Sprintf(" so far, %d in all, %s: %s, whatever the others say.", f.Planned, mark, verdict)
	case f.Verdict == engine.SoFar:
		return text + fmt.Sprintf(" so far, %s, %s: no verdict yet.", planned, mark)
	case f.Early:
		return text + fmt.Sprintf(" so far, %s, %s: %s already, too clearly to be chance, however often one looks.", planned, mark, verdict)
	default:
		text += fmt.Sprintf(", %s: %s", mark, verdict)
	}
	if f.Narrow {
		text += ", but only just"
	}
	return text + fmt.Sprintf(". The true share is likely between %.0f%% and %.0f%%.", f.Low*100, f.High*100)
}
