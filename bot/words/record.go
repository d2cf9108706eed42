package words

import (
	"fmt"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/views"
)

// FateText is what became of a belief, in a sentence.
func FateText(f views.Fate) string {
	switch f {
	case views.Held:
		return "Turned out true."
	case views.Fell:
		return "Turned out not true."
	case views.Open:
		return "Not clear yet."
	}
	return "Not tested."
}

// CameTo is what a test has come to, in a sentence or in two.
func CameTo(k state.Kickoff, t state.Test) string {
	found, reported := state.Found(&k, t.N)
	switch {
	case !reported && t.Dropped != "":
		return "Dropped."
	case !reported:
		return "No result."
	case !found.Each:
		return FindingText(found)
	}
	reports := state.Results(k.Underway, t.N)
	last := reports[len(reports)-1]
	return SentenceCase(GivenText(k, last)) + "; " + testText(k, last, found)
}

// Ahead says what a decision leaves to do, or what it saves, in sentences.
func Ahead(k state.Kickoff, d state.Decision) []string {
	var open, fell []string
	for _, b := range views.Record(&k) {
		switch b.Fate {
		case views.Open, views.Untested:
			open = append(open, b.ID)
		case views.Fell:
			fell = append(fell, b.ID)
		}
	}
	var out []string
	say := func(ids []string, one, many string) {
		if len(ids) == 1 {
			out = append(out, fmt.Sprintf(one, ids[0]))
		} else if len(ids) > 1 {
			out = append(out, fmt.Sprintf(many, And(ids, 8)))
		}
	}
	switch d.Set {
	case state.Build:
		say(open, "Keep watching %s: it matters, and no test has settled it.", "Keep watching %s: they matter, and no test has settled them.")
		say(fell, "Do not build on %s: it turned out not true.", "Do not build on %s: they turned out not true.")
	case state.Stop:
		cost := views.CostOf(&k)
		days, work := views.DaysSaved(&k, d.At), cost.Planned-cost.Used
		switch {
		case days > 0 && work > 0:
			out = append(out, fmt.Sprintf("Stopping now saves %s of the time box, and %s of work on tests.", Count(days, "day", "days"), Days(work)))
		case days > 0:
			out = append(out, fmt.Sprintf("Stopping now saves %s of the time box.", Count(days, "day", "days")))
		case work > 0:
			out = append(out, fmt.Sprintf("Stopping now saves %s of work on tests.", Days(work)))
		}
	case state.Another:
		say(open, "The new time box must answer %s.", "The new time box must answer these: %s.")
	}
	return out
}

// CostText is what the tests took: "The tests were planned to take 12 days of
// work; those with a result took 8." It is empty where no test has an effort.
func CostText(k state.Kickoff) string {
	switch c := views.CostOf(&k); {
	case c.Planned == 0:
		return ""
	case c.Used == c.Planned:
		return fmt.Sprintf("The tests took %s of work, as they were planned.", Days(c.Planned))
	case c.Used == 0:
		return fmt.Sprintf("The tests were planned to take %s of work; none has a result.", Days(c.Planned))
	default:
		return fmt.Sprintf("The tests were planned to take %s of work; those with a result were %s of it.", Days(c.Planned), Number(engine.Figure(c.Used)))
	}
}
