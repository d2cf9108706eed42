package underway

import (
	"strconv"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
)

// foresightEntries ask at a check-in about the first of the tests of which the viewer
// has said nothing yet, but for their own: the page before asks what came of those.
func foresightEntries(p screen.Page, most int) []entry {
	var out []entry
	for _, t := range flows.ToForesee(&p.Kickoff) {
		if _, said := p.Kickoff.Foresight[t.N].Said[p.Viewer]; said || t.Owner == p.Viewer || len(out) == most {
			continue
		}
		out = append(out, entry{1, func(f *block.Form) {
			f.Select("expect/"+strconv.Itoa(t.N), words.Clip(t.Assumption+", "+t.Method, 120)+": "+words.ForesightAsk(t), "", screen.ForesightOptions(t), block.Optional)
		}})
	}
	return out
}

// readForesight reads what was said of each test.
func readForesight(p screen.Page, v block.Values) []flows.Intent {
	var out []flows.Intent
	for _, t := range flows.ToForesee(&p.Kickoff) {
		if percent, said := v.Number("expect/" + strconv.Itoa(t.N)); said {
			out = append(out, flows.Foresee{By: screen.By(p), Test: t.N, Percent: percent})
		}
	}
	return out
}
