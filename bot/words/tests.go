package words

import (
	"fmt"
	"strings"

	"soundings/engine"
	"soundings/flows"
)

// KindText is the kind of risk in a word; a tie shows both.
func KindText(k flows.Kickoff, id string) string {
	var words []string
	for _, kind := range k.Backlog.KindsOf(id) {
		words = append(words, string(kind))
	}
	return strings.Join(words, "/")
}

// PassMark is the result that counts as support, "80% of 60", or that there is none.
func PassMark(t flows.Test) string {
	of := ""
	if t.Size > 0 {
		of = fmt.Sprintf(" of %d", t.Size)
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
func EffortText(t flows.Test) string {
	text := Days(t.EffortDays) + " of work"
	if t.LeadDays > 0 {
		text += ", " + Days(t.LeadDays) + " to wait"
	}
	return text
}

// TestsText says how many tests there are, and what comes first without one.
func TestsText(k flows.Kickoff) string {
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
		text += fmt.Sprintf(" Still without a test, though they come first: %s.", Listed(without, 10))
	}
	return text
}

// Untested lists what comes first and has no test.
func Untested(k flows.Kickoff) []string {
	var out []string
	for _, id := range k.InZone(engine.TestFirst) {
		if len(k.TestsOf(id)) == 0 {
			out = append(out, id)
		}
	}
	return out
}

// RingText names a ring within a sentence.
func RingText(r flows.Ring) string {
	if r == flows.Core {
		return "core team"
	}
	return string(r)
}

// LeadName is the name of the first lead, clipped for a sentence.
func LeadName(k flows.Kickoff) string { return Clip(k.Name(k.Lead().ID), 60) }
