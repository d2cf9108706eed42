package score

import (
	"fmt"
	"math"
	"slices"

	"soundings/bot/words"
	"soundings/engine"
)

// The notes beneath the list of a report.

// mostNamed bounds the names in one sentence, which is to be read aloud.
const mostNamed = 20

// splits says where to talk.
func (t *report) splits() {
	t.section("Where to talk")
	none := true
	for _, id := range t.result.Order {
		a := t.scores[id]
		for _, s := range []struct {
			name   string
			spread engine.Spread
		}{{"importance", a.Importance}, {"evidence", a.Evidence}} {
			if s.spread.Agreement == engine.Split {
				none = false
				t.say("%s: split on %s, the middle half runs from %s to %s.", words.HarmlessLine(id), s.name,
					words.Number(s.spread.Q1), words.Number(s.spread.Q3))
			}
		}
	}
	if none {
		t.say("Nowhere in particular: no ratings are split.")
		return
	}
	t.say("Ask what somebody knows there that the others do not.")
}

// thin names the assumptions with few ratings.
func (t *report) thin() {
	var ids []string
	for _, id := range t.result.Order {
		if t.scores[id].Thin {
			ids = append(ids, words.HarmlessLine(id))
		}
	}
	if len(ids) == 0 {
		return
	}
	t.section("Thin")
	t.say("Do not lean on %s. On one scale or both, fewer than 3 people rated, or fewer than half of those asked.",
		words.Listed(ids, mostNamed))
}

// levelling says what would move if nobody rated generously or strictly.
func (t *report) levelling() {
	var moved []string
	for _, id := range t.result.Order {
		if a := t.scores[id]; a.Rank != 0 && a.LevelledRank != 0 && a.Rank != a.LevelledRank {
			moved = append(moved, fmt.Sprintf("%s from place %d to %d", words.HarmlessLine(id), a.Rank, a.LevelledRank))
		}
	}
	t.section("With generous and strict raters levelled")
	if len(moved) == 0 {
		t.say("The order stays as it is.")
		return
	}
	t.say("These would move: %s.", words.Listed(moved, mostNamed))
}

// group says how far the raters put the assumptions in one order.
func (t *report) group() {
	t.section("The group as a whole")
	t.say("Kendall's W goes from 0, no common order, to 1, the same order for everybody.")
	c := t.result.Concordance
	t.say("On importance: %s", concordanceSentence(c.Importance))
	t.say("On evidence: %s", concordanceSentence(c.Evidence))
}

func concordanceSentence(c engine.Concordance) string {
	if !c.W.Defined() {
		return fmt.Sprintf("no figure. It takes two complete ballots, two assumptions, and ratings that differ (here %s).",
			words.Count(c.Ballots, "complete ballot", "complete ballots"))
	}
	return fmt.Sprintf("W is %.2f over %s. %s", float64(c.W), words.Count(c.Ballots, "complete ballot", "complete ballots"), chanceText(c.P))
}

// chanceText tells a p-value as what it is.
func chanceText(p engine.Figure) string {
	switch thousands := math.Round(1000 * float64(p)); {
	case thousands < 1:
		return "Chance alone would reach that in fewer than 1 of 1,000 groups without any common order (p below 0.001)."
	case thousands == 1000:
		return "Chance alone would reach that in nearly any group without a common order (p = 1.000)."
	default:
		return fmt.Sprintf("Chance alone would reach that in about %.0f of 1,000 groups without any common order (p = %.3f).",
			thousands, float64(p))
	}
}

// gaps says which ballots the figures of the group leave out.
func (t *report) gaps() {
	c := t.result.Concordance
	t.section("Incomplete ballots")
	if c.Importance.LeftOut == 0 && c.Evidence.LeftOut == 0 {
		t.say("None: everybody rated everything.")
		return
	}
	b := t.options.Ballots
	t.say("They count above for what they hold, and are left out of Kendall's W.")
	t.say("On importance %s.", leftOutText(c.Importance, b.Raters, b.Importance))
	t.say("On evidence %s.", leftOutText(c.Evidence, b.Raters, b.Evidence))
}

func leftOutText(c engine.Concordance, raters []string, ratings [][]engine.Rating) string {
	var names []string
	for i, row := range ratings {
		if slices.Contains(row, 0) {
			names = append(names, words.HarmlessLine(raters[i]))
		}
	}
	switch {
	case c.LeftOut == 0:
		return "none"
	case len(names) == 0:
		return fmt.Sprintf("%d of %d", c.LeftOut, c.LeftOut+c.Ballots)
	}
	return fmt.Sprintf("%d of %d: %s", c.LeftOut, c.LeftOut+c.Ballots, words.Listed(names, mostNamed))
}
