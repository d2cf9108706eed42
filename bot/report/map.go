package report

import (
	"fmt"
	"strings"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
)

// mapBlocks is the last map in words.
func mapBlocks(k flows.Kickoff) []Block {
	r := shownMap(k)
	if r == nil {
		return []Block{para("Nothing was rated in this kickoff.")}
	}
	blocks := append([]Block{para("%s rated, each alone. %s", words.Count(r.Raters, "person", "people"), words.FirstText(*r))}, TestOrder(k, *r)...)
	if last := k.Rounds[len(k.Rounds)-1]; len(last.Splits) > 0 {
		blocks = append(blocks, para("**Still split:** %s.", words.Listed(last.Splits, 12)))
	}
	return append(blocks, MapNotes(*r)...)
}

// mostListed is how many assumptions a message lists: the rest stands in the
// files.
const mostListed = 30

// TestOrder lists the assumptions of r in test order under their zones, the
// numbers running on from zone to zone.
func TestOrder(k flows.Kickoff, r engine.Result) []Block {
	scores := scoresOf(r)
	var blocks []Block
	shown := 0
	for _, z := range []engine.Zone{engine.TestFirst, engine.RelyOn, engine.Watch, engine.Leave, ""} {
		var lines Lines
		for _, id := range words.FirstOf(words.InZone(r, z), mostListed-shown) {
			a, _ := k.Assumption(id)
			lines = append(lines, say("%d. **%s** %s\n%s", shown+len(lines)+1, id, clip(a.Text, 160), figuresText(scores[id])))
		}
		if len(lines) > 0 {
			blocks = append(blocks, para("**%s**", words.ZoneHeading(z)), lines)
			shown += len(lines)
		}
	}
	if left := len(r.Order) - shown; left > 0 {
		blocks = append(blocks, para("And %d more. The whole list is in the file assumptions.csv, which comes with the summary.", left))
	}
	return blocks
}

func scoresOf(r engine.Result) map[string]engine.AssumptionScore {
	scores := map[string]engine.AssumptionScore{}
	for _, a := range r.Assumptions {
		scores[a.ID] = a
	}
	return scores
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
	return fmt.Sprintf("%s (%s)", words.Number(s.Median), s.Agreement)
}

// MapNotes are what one has to know to read a map rightly.
func MapNotes(r engine.Result) []Block {
	text := "Each figure is the median of the ratings from 1 to 9. Close, mixed and split say how far apart they are. " +
		"High and low mean high and low among these assumptions: never compare this map with another by number."
	if c := concordanceText(r.Concordance); c != "" {
		text += " " + c
	}
	blocks := []Block{Note(text)}
	for _, note := range []string{firmText(r), levelledText(r)} {
		if note != "" {
			blocks = append(blocks, Note(note))
		}
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
	text := words.Count(c.Ballots, "complete ballot", "complete ballots")
	if c.LeftOut > 0 {
		text += fmt.Sprintf(", %d left out", c.LeftOut)
	}
	return text
}

// firmText tells how firmly the first three stand at the top.
func firmText(r engine.Result) string {
	scores := scoresOf(r)
	var parts []string
	for _, id := range words.FirstOf(r.Order, 3) {
		if a := scores[id]; a.Rank != 0 && a.Top3.Defined() {
			parts = append(parts, fmt.Sprintf("%s in %.0f%% of the draws", id, 100*float64(a.Top3)))
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
	scores := scoresOf(r)
	var moved []string
	for _, id := range r.Order {
		if a := scores[id]; a.Rank != 0 && a.LevelledRank != 0 && a.Rank != a.LevelledRank {
			moved = append(moved, fmt.Sprintf("%s from place %d to %d", id, a.Rank, a.LevelledRank))
		}
	}
	if len(moved) == 0 {
		return ""
	}
	return "Some people rate generously and some strictly. With that taken out, these would move: " + words.Listed(moved, 5) + "."
}
