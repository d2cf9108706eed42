package words

import (
	"fmt"
	"slices"
	"strings"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/views"
)

// SettledLevel is the level at which the discovery works.
func SettledLevel(k state.Kickoff) int {
	if k.Framing.Settled {
		return k.Framing.AtLevel
	}
	return k.Framing.Level.Level
}

// LevelText names a rung of the ladder: "+1, broader than the brief".
func LevelText(level int) string {
	level = min(max(level, -2), 2)
	return Rung(level) + ", " + [...]string{"much narrower than the brief", "narrower than the brief", "as in the brief",
		"broader than the brief", "much broader than the brief"}[level+2]
}

// Rung writes a level of the ladder: +1, 0, -2.
func Rung(level int) string {
	if level == 0 {
		return "0"
	}
	return fmt.Sprintf("%+d", level)
}

// ChosenText says where the chosen levels lie: "median 1; the middle half of the
// choices lie within 1 level of each other."
func ChosenText(l engine.LadderLevel) string {
	if l.N < state.FewestRaters {
		return fmt.Sprintf("median %s. %s", Number(l.Median), TooFew)
	}
	return fmt.Sprintf("median %s; %s.", Number(l.Median), halfOf("the choices", l.IQR, func(f engine.Figure) string { return figure(f, "level", "levels") }))
}

// LadderText tells how the level came about.
func LadderText(k state.Kickoff) string {
	l := k.Framing.Level
	if l.N == 0 {
		return fmt.Sprintf("Nobody chose one, so we work at %s.", LevelText(SettledLevel(k)))
	}
	half := ""
	if l.HalfStep {
		half = " The median lay between two levels, and the narrower one counts."
	}
	return fmt.Sprintf("%s chose from +2 (broader: why does it matter?) to -2 (narrower: how does it show?). %s%s We work at %s.",
		Count(l.N, "person", "people"), SentenceCase(ChosenText(l)), half, LevelText(SettledLevel(k)))
}

// Rungs lists the numbers of all wordings from broad to narrow.
func Rungs(k state.Kickoff) []int {
	var out []int
	for level := 2; level >= -2; level-- {
		for n := range len(k.Framing.Wordings) + 1 {
			if k.Framing.LevelOf(n) == level {
				out = append(out, n)
			}
		}
	}
	return out
}

// DraftsText says which wordings of the ladder began as a machine's drafts:
// nobody should take for a colleague's words what no colleague wrote. It is
// empty where none did.
func DraftsText(k state.Kickoff) string {
	began, changed, settled := 0, 0, false
	for _, w := range k.Framing.Wordings {
		if !w.Began {
			continue
		}
		began++
		if !w.Drafted {
			changed++
		}
		settled = settled || k.Framing.Settled && w.Text == k.Framing.Problem
	}
	if began == 0 {
		return ""
	}
	text := fmt.Sprintf("%s as a machine's draft", Count(began, "wording began", "wordings began"))
	switch {
	case changed == 0 && began == 1:
		text += ", and stands as it was drafted."
	case changed == 0:
		text += ", and stand as they were drafted."
	case changed == began:
		text += ", and people have changed the words since."
	default:
		text += fmt.Sprintf("; people have changed the words of %d since.", changed)
	}
	if settled {
		text += " The one that was settled is among them."
	}
	return text
}

// KindText is the kind of risk in a word; a tie shows both.
func KindText(k state.Kickoff, id string) string {
	var words []string
	for _, kind := range views.KindsOf(k.Backlog, id) {
		words = append(words, string(kind))
	}
	return strings.Join(words, "/")
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

// RingText names a ring within a sentence.
func RingText(r state.Ring) string {
	if r == state.Core {
		return "core team"
	}
	return string(r)
}

// LeadName is the name of the first lead, clipped for a sentence.
func LeadName(k state.Kickoff) string { return Clip(k.Name(k.Lead().ID), 60) }

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

// MoveText says how the evidence moved: "Evidence from 2 to 8, so it moves from “test first” to “next”." Where a
// test has refuted the assumption, more evidence is no reason to rely on it.
func MoveText(m state.Move, found engine.Verdict) string {
	if !m.To.Defined() {
		return fewMoved(m, found)
	}
	text := fmt.Sprintf("Evidence from %s to %s", Number(m.From), Number(m.To))
	if !m.From.Defined() {
		text = fmt.Sprintf("Evidence %s, for the first time", Number(m.To))
	}
	if m.Raters > 0 {
		text += fmt.Sprintf(" (%s it anew)", Count(m.Raters, "person rated", "people rated"))
	}
	return text + stands(m, found)
}

// stands is where an assumption stands after its evidence was rated anew, as the end of a
// sentence.
func stands(m state.Move, found engine.Verdict) string {
	if found == engine.Refuted {
		return ". It turned out not true, so do not rely on it."
	}
	why := ""
	if m.Doubt != "" {
		why = ", since " + doubts[m.Doubt]
	}
	if m.ZoneFrom != m.ZoneTo {
		return fmt.Sprintf(", so it moves from “%s” to “%s”%s.", ZoneText(m.ZoneFrom), ZoneText(m.ZoneTo), why)
	}
	return fmt.Sprintf(", and it stays in “%s”%s.", ZoneText(m.ZoneTo), why)
}

// fewMoved says of evidence that few rated anew what tells no single rating: "3 people rated
// the evidence anew, too few for a figure; most find it well known, and it stays in “test first”."
func fewMoved(m state.Move, found engine.Verdict) string {
	text := Count(m.Raters, "person", "people") + " rated the evidence anew, " +
		fewSaid(m.Raters, m.Third, [3]string{"find it little known", "see some signs", "find it well known"})
	if m.Raters == 1 {
		return text + "."
	}
	return text + stands(m, found)
}

// ConfidenceMove is the confidence of a check-in beside the one before.
func ConfidenceMove(k state.Kickoff, c state.Checkin) string {
	now := state.ConfidenceOf(c)
	switch {
	case now.N == 0:
		return "Nobody said how confident they are."
	case !now.Median.Defined():
		return fmt.Sprintf("%s said how confident they are, %s.", Count(now.N, "person", "people"), fewSaid(now.N, now.Third, confidences))
	}
	text := fmt.Sprintf("Confidence that this is worth building: %s of 9 (median of %s).", Number(now.Median), Count(now.N, "vote", "votes"))
	var was []string
	for n := c.N - 1; n >= 1 && len(was) == 0; n-- {
		if before := state.ConfidenceOf(k.Underway.Checkins[n-1]); before.Median.Defined() {
			was = append(was, fmt.Sprintf("%s at check-in %d", Number(before.Median), n))
		}
	}
	if b := k.Timebox.Baseline(); b.Median.Defined() {
		was = append(was, Number(b.Median)+" before the tests")
	}
	if len(was) == 0 {
		return text
	}
	return fmt.Sprintf("%s It was %s.", text, strings.Join(was, ", and "))
}

// confidences are the thirds of the scale on which people say how confident they are.
var confidences = [3]string{"are not confident", "say it could go either way", "are confident"}

// ConfidenceNow is the confidence of the last check-in in a few words; empty where nothing
// is told of it.
func ConfidenceNow(s state.Said) string {
	switch {
	case s.Median.Defined():
		return fmt.Sprintf("Confidence: %s of 9.", Number(s.Median))
	case s.Third > 0:
		return fmt.Sprintf("%s of %d %s.", SentenceCase(mostOf(s.N)), s.N, confidences[s.Third-1])
	}
	return ""
}

// ChoiceText names one of the ways in which a time box can end.
func ChoiceText(c state.Choice, weeks int) string {
	if c == state.Another {
		return fmt.Sprintf("another time box of %s", Count(weeks, "week", "weeks"))
	}
	if c == "" {
		return "none" // the kickoff was left
	}
	return string(c)
}

// EndText says how a kickoff ended, a sentence or two.
func EndText(k state.Kickoff) string {
	d := k.Underway.Decision
	switch {
	case k.CalledOff.Why != "":
		return "It was called off."
	case state.EndedWithSummary(&k):
		return "The kickoff has ended with its summary. It has no time box."
	case d.Set == "":
		return "It has ended without a decision."
	}
	return fmt.Sprintf("It has ended. The decision: %s.", ChoiceText(d.Set, d.Weeks))
}

// Tally counts the votes: "7 for build, 2 for another time box of 2 weeks".
// Nobody's own vote is named.
func Tally(d state.Decision) string { return votesFor(d.Tally()) }

// RingsTally is the same by ring, in sentences that follow one: " The core team: 3 for
// build, 1 for stop. The others: 4 for build." It is empty where that is not told.
func RingsTally(d state.Decision) string {
	if d.Counted == nil || d.Counted.Core == nil {
		return ""
	}
	return fmt.Sprintf(" The core team: %s. The others: %s.", votesFor(d.Counted.Core), votesFor(d.Counted.OthersTally()))
}

func votesFor(votes []state.ChoiceCount) string {
	counts, other := map[state.DecisionVote]int{}, 0
	for _, c := range votes {
		counts[c.DecisionVote] = c.N
		other += c.N
	}
	var parts []string
	for _, choice := range offered() {
		n := counts[choice]
		if other -= n; n > 0 {
			parts = append(parts, fmt.Sprintf("%d for %s", n, ChoiceText(choice.Choice, choice.Weeks)))
		}
	}
	if other > 0 { // voted by other means than our buttons
		parts = append(parts, fmt.Sprintf("%d for a time box of another length", other))
	}
	if len(parts) == 0 {
		return "Nobody voted"
	}
	return strings.Join(parts, ", ")
}

// offered are the choices that have a button, in their order.
func offered() []state.DecisionVote {
	all := []state.DecisionVote{{Choice: state.Build}, {Choice: state.Stop}}
	for _, weeks := range engine.Renewals() {
		all = append(all, state.DecisionVote{Choice: state.Another, Weeks: weeks})
	}
	return all
}
