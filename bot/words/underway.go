package words

import (
	"fmt"
	"strings"

	"soundings/engine"
	"soundings/flows/state"
)

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
