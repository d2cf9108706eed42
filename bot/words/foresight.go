package words

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/views"
)

// isShare reports that a test finds out a share, and not a figure or a yes.
func isShare(t state.Test) bool { return !t.YesNo && t.Bound.Unit == "" }

// ForesightAsk asks what somebody expects of a test.
func ForesightAsk(t state.Test) string {
	switch {
	case t.YesNo:
		return "Will it be a yes?"
	case !isShare(t):
		return "Will it be " + PassMark(t) + "?"
	}
	return "Which share do you expect?"
}

// ShareText is one of the answers to that, by its middle in percent.
func ShareText(t state.Test, percent int) string {
	if isShare(t) {
		return fmt.Sprintf("%d to %d%%", percent-10, percent+10)
	}
	return SentenceCase(likely(engine.Figure(percent)))
}

// likely says in words how likely something was thought, from 0 to 100.
func likely(percent engine.Figure) string {
	switch {
	case percent <= 20:
		return "very unlikely"
	case percent < 50:
		return "unlikely"
	case percent == 50:
		return "as likely as not"
	case percent < 80:
		return "likely"
	}
	return "very likely"
}

// ForesightText lays what was expected of a test beside what came: "The group
// expected about 70% (9 answers; core team 70%, consulted 50%). It was 31%." It is
// empty where nobody said anything. Where few did, it says only how many: what they
// expected would give them away.
func ForesightText(k state.Kickoff, test int) string {
	f, known := views.ForeseenOf(&k, test)
	if !known {
		return ""
	}
	if f.Expected.N < state.FewestRaters {
		return fmt.Sprintf("%s said what they expected, too few to show it. %s", Count(f.Expected.N, "person", "people"), came(f))
	}
	says := func(median engine.Figure) string {
		if isShare(f.Test) {
			return Number(median) + "%"
		}
		return likely(median)
	}
	of := Count(f.Expected.N, "answer", "answers")
	var rings []string
	differ := false
	for _, ring := range []state.Ring{state.Core, state.Consulted, state.Informed} {
		if told, enough := f.Expected.Rings[ring]; enough {
			rings = append(rings, RingText(ring)+" "+says(told.Median))
			differ = differ || told.Median != f.Expected.Median
		}
	}
	if differ {
		of += "; " + strings.Join(rings, ", ")
	}
	return fmt.Sprintf("The group %s (%s). %s", expected(f.Test, says(f.Expected.Median)), of, came(f))
}

// expected is what was expected of a test, after who did.
func expected(t state.Test, says string) string {
	switch {
	case t.YesNo:
		return "thought a yes " + says
	case !isShare(t):
		return fmt.Sprintf("thought %s %s", PassMark(t), says)
	}
	return "expected about " + says
}

// came says what came of a test, in a sentence.
func came(f views.Foreseen) string {
	switch {
	case isShare(f.Test) && !f.Final:
		return fmt.Sprintf("It is %s so far.", wholePercent(f.Came))
	case isShare(f.Test):
		return fmt.Sprintf("It was %s.", wholePercent(f.Came))
	case f.Test.YesNo && f.Came == 1:
		return "It was a yes."
	case f.Test.YesNo && f.Came == 0:
		return "It was a no."
	case f.Came == 1:
		return "It was so."
	case f.Came == 0:
		return "It was not so."
	}
	return "The reports do not agree."
}

func wholePercent(share engine.Figure) string { return fmt.Sprintf("%.0f%%", share*100) }

// ForesightBeside is ForesightText beside the last report of a test, and nothing
// beside earlier ones.
func ForesightBeside(k state.Kickoff, r state.TestResult) string {
	if reports := state.Results(k.Underway, r.Test); slices.Index(reports, r) < len(reports)-1 {
		return ""
	}
	return ForesightText(k, r.Test)
}

// foretold are the tests of which something was expected, and whose results are in.
func foretold(k state.Kickoff) (done []views.Foreseen) {
	for _, f := range views.Foresight(&k) {
		if f.Final && f.Expected.Median.Defined() {
			done = append(done, f)
		}
	}
	return done
}

// GuessText says in plain words how well the group foresaw what its tests found.
// It is empty where nothing that was foreseen has come.
func GuessText(k state.Kickoff) string {
	done := foretold(k)
	score := views.ScoreOf(done)
	if score.Tests == 0 {
		return ""
	}
	off := func(f views.Foreseen) float64 { return math.Abs(float64(f.Expected.Median)/100 - float64(f.Came)) }
	slices.SortStableFunc(done, func(a, b views.Foreseen) int { return compare(off(a), off(b)) })
	text := fmt.Sprintf("What we expected of %s was %s off", Count(score.Tests, "test", "tests"), points(score.Off))
	if last := len(done) - 1; last > 0 && off(done[0]) < off(done[last]) {
		text += fmt.Sprintf(" on average. Nearest: %s (%s). Farthest off: %s (%s).", done[0].Test.Assumption, pair(done[0]), done[last].Test.Assumption, pair(done[last]))
	} else {
		text += "."
	}
	return text
}

// GuessScore are the figures behind GuessText, for the files.
func GuessScore(k state.Kickoff) string {
	score, text := views.ScoreOf(foretold(k)), ""
	if score.Tests == 0 {
		return ""
	}
	if score.Spread.Defined() {
		text = fmt.Sprintf("Answers about one test lay some %s apart. ", points(score.Spread))
	}
	text += fmt.Sprintf("Brier score %s: 0 is without a mistake, always to expect half gives %s", hundredths(score.Brier), hundredths(score.Half))
	if score.Alone.Defined() {
		text += ", one person alone " + hundredths(score.Alone)
	}
	return text + "."
}

// pair: "expected 70%, it was 31%".
func pair(f views.Foreseen) string {
	return fmt.Sprintf("expected %s%%, it was %s", Number(f.Expected.Median), wholePercent(f.Came))
}

func points(share engine.Figure) string {
	return figure(engine.Figure(math.Round(float64(share)*100)), "percentage point", "percentage points")
}

func hundredths(f engine.Figure) string { return fmt.Sprintf("%.2f", f) }

// compare orders what differs by more than rounding.
func compare(a, b float64) int {
	switch {
	case a < b-1e-9:
		return -1
	case a > b+1e-9:
		return 1
	}
	return 0
}
