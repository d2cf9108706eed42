package report

import (
	"fmt"
	"slices"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows/state"
)

// mapBlocks is the last map in words.
func mapBlocks(k state.Kickoff) []Block {
	r := shownMap(k)
	if r == nil {
		return []Block{para("Nothing was rated in this kickoff.")}
	}
	rated := para("%s rated, each alone. %s", words.Count(r.Raters, "person", "people"), words.FirstText(*r))
	if out := words.NotRatingText(k); out != "" {
		rated = para("%s rated, each alone. %s %s", words.Count(r.Raters, "person", "people"), clip(out, all), words.FirstText(*r))
	}
	blocks := append([]Block{rated}, TestOrder(k, *r)...)
	if last := state.LatestRound(&k); len(last.Splits) > 0 {
		blocks = append(blocks, para("**Still split:** %s.", words.Listed(last.Splits, 12)))
	}
	return append(append(blocks, SidesBlocks(k, state.MappedRound(&k).Sides)...), MapNotes(*r)...)
}

// SidesBlocks say where a map hangs on who rated.
func SidesBlocks(k state.Kickoff, s state.Sides) []Block {
	var blocks []Block
	if text := words.ApartText(s); text != "" {
		blocks = append(blocks, para("%s", text))
	}
	if text := words.SingleText(k, s); text != "" {
		blocks = append(blocks, Note(text))
	}
	return blocks
}

// mostListed is how many assumptions a message lists: the rest stands in the
// files.
const mostListed = 30

// TestOrder lists the assumptions of r in test order under their zones, the
// numbers running on from zone to zone.
func TestOrder(k state.Kickoff, r engine.Result) []Block {
	scores := scoresOf(r)
	var blocks []Block
	shown := 0
	for _, z := range append(slices.Clone(r.Zones()), "") {
		var lines Lines
		for _, id := range words.FirstOf(words.InZone(r, z), mostListed-shown) {
			a, _ := k.Assumption(id)
			lines = append(lines, say("%d. **%s** %s\n%s", shown+len(lines)+1, id, clip(a.Text, 160), figuresText(r, scores[id])))
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
func figuresText(r engine.Result, s engine.AssumptionScore) string {
	text := fmt.Sprintf("Importance %s, evidence %s.", medianText(s.Importance), medianText(s.Evidence))
	if s.Thin {
		text += " Too few people rated it to rely on these figures."
	}
	for _, more := range []string{words.DoubtText(r, s), words.CantSayText(s, r.Raters), words.TieText(r, s)} {
		if more != "" {
			text += " " + more
		}
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
		"Compare figures only within this map: in the middle of the scale, high and low mean high and low among these assumptions."
	if slices.ContainsFunc(r.Assumptions, func(a engine.AssumptionScore) bool { return a.Dealt > 0 }) {
		text = "The list was dealt out: each rated a share, and then everybody what could come first. " + text
	}
	blocks := []Block{Note(text)}
	firm := words.FirmText(r)
	if firm != "" {
		firm += " " + words.FirmNote
	}
	for _, note := range []string{firm, words.StrictText(r), words.FlatText(r), words.AgreementText(r.Concordance)} {
		if note != "" {
			blocks = append(blocks, Note(note))
		}
	}
	return blocks
}
