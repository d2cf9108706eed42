package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/engine"
	"soundings/flows"
)

// The map in words: the list in test order, with what the ratings say.

// mostListed is how many assumptions a message lists: the rest stands in the
// files. With texts of statementLength each, the message stays far under
// what the platform takes.
const (
	mostListed      = 30
	statementLength = 160
)

// testOrder lists the assumptions of r in test order under their zones, the
// numbers running on from zone to zone.
func testOrder(k flows.Kickoff, r engine.Result) []slack.Block {
	scores := map[string]engine.AssumptionScore{}
	for _, a := range r.Assumptions {
		scores[a.ID] = a
	}
	var blocks []slack.Block
	shown := 0
	for _, z := range []engine.Zone{engine.TestFirst, engine.RelyOn, engine.Watch, engine.Leave, ""} {
		var items [][]word
		for _, id := range idsIn(r, z) {
			if shown+len(items) < mostListed {
				items = append(items, assumptionLine(k, scores[id]))
			}
		}
		if len(items) > 0 {
			blocks = append(blocks, para(bold("%s", zoneHeading(z))), orderedFrom(shown+1, items))
			shown += len(items)
		}
	}
	if left := len(r.Order) - shown; left > 0 {
		blocks = append(blocks, para(plain("And %d more. The whole list is in the file assumptions.csv, which comes with the summary.", left)))
	}
	return blocks
}

// orderedFrom numbers items from first. The numbers are written out: the
// platform's own lists begin with 1, and one look suits all zones.
func orderedFrom(first int, items [][]word) slack.Block {
	lines := make([]slack.RichTextElement, len(items))
	for i, words := range items {
		lines[i] = slack.NewRichTextSection(append([]word{plain("%d. ", first+i)}, words...)...)
	}
	return slack.NewRichTextBlock("", lines...)
}

// assumptionLine is one assumption with its medians, and in words how far
// apart the ratings are.
func assumptionLine(k flows.Kickoff, s engine.AssumptionScore) []word {
	a, _ := k.Assumption(s.ID)
	return []word{bold("%s ", s.ID), typed(a.Text, statementLength), plain("\n%s", figuresText(s))}
}

// figuresText: "Importance 8 (close), evidence 2 (split)."
func figuresText(s engine.AssumptionScore) string {
	text := fmt.Sprintf("Importance %s, evidence %s.", medianText(s.Importance), medianText(s.Evidence))
	if s.Thin {
		text += " Thin: too few ratings to lean on."
	}
	return text
}

func medianText(s engine.Spread) string {
	if s.N == 0 {
		return "not rated"
	}
	return fmt.Sprintf("%s (%s)", number(s.Median), s.Agreement)
}

// mapNotes are what one has to know to read a map rightly.
func mapNotes(r engine.Result) []slack.Block {
	text := "Each figure is the median of the ratings from 1 to 9. Close, mixed and split say how far apart they are. " +
		"High and low mean high and low among these assumptions: never compare this map with another by number."
	if c := concordanceText(r.Concordance); c != "" {
		text += " " + c
	}
	blocks := []slack.Block{note(text)}
	if firm := firmText(r); firm != "" {
		blocks = append(blocks, note(firm))
	}
	if moved := levelledText(r); moved != "" {
		blocks = append(blocks, note(moved))
	}
	return blocks
}

// concordanceText tells how far the group agrees as a whole: nothing where
// the figure has no value.
func concordanceText(c engine.Concordances) string {
	var parts []string
	for _, s := range []struct {
		name string
		c    engine.Concordance
	}{{"importance", c.Importance}, {"evidence", c.Evidence}} {
		if s.c.W.Defined() {
			parts = append(parts, fmt.Sprintf("%.2f on %s (%s)", float64(s.c.W), s.name, ballotsText(s.c)))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "How far the group as a whole agrees on the order, from 0 to 1 (Kendall's W): " + strings.Join(parts, ", ") + "."
}

func ballotsText(c engine.Concordance) string {
	text := count(c.Ballots, "complete ballot", "complete ballots")
	if c.LeftOut > 0 {
		text += fmt.Sprintf(", %d left out", c.LeftOut)
	}
	return text
}

// firmText tells how firmly the first three stand at the top.
func firmText(r engine.Result) string {
	var parts []string
	for _, id := range firstOf(r.Order, 3) {
		for _, a := range r.Assumptions {
			if a.ID == id && a.Rank != 0 && a.Top3.Defined() {
				parts = append(parts, fmt.Sprintf("%s in %.0f%% of the draws", id, 100*float64(a.Top3)))
			}
		}
	}
	if len(parts) == 0 || len(r.Order) <= 3 {
		return ""
	}
	return "How firm is the top? With the raters drawn anew many times, these are among the first three: " +
		strings.Join(parts, ", ") + ". That is a share of resamples, not a confidence."
}

// levelledText tells which of the first would stand elsewhere if nobody
// rated more generously or strictly than the others.
func levelledText(r engine.Result) string {
	const most = 5
	byID := map[string]engine.AssumptionScore{}
	for _, a := range r.Assumptions {
		byID[a.ID] = a
	}
	var moved []string
	for _, id := range r.Order {
		if a := byID[id]; a.Rank != 0 && a.LevelledRank != 0 && a.Rank != a.LevelledRank {
			moved = append(moved, fmt.Sprintf("%s from place %d to %d", id, a.Rank, a.LevelledRank))
		}
	}
	if len(moved) == 0 {
		return ""
	}
	return "Some people rate generously and some strictly. With that taken out, these would move: " + listed(moved, most) + "."
}
