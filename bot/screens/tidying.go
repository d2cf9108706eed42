package screens

import (
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/flows/state"
)

// Before a list is rated a lead can look through what would be hard to rate: what looks
// alike, and what reads like a question, a feature, a wish, or two beliefs in one. Who
// wrote what does not stand there.

// A finding is something on the list to look at.
type finding struct {
	about []state.Assumption // one, or two that look alike
	says  string
}

// findings are what stands out on the list, lookalikes first.
func findings(k state.Kickoff) []finding {
	var alike, worded []finding
	index := hints.Index{}
	for _, a := range k.Listed() {
		text := words.Clip(a.Text, alikeLimit)
		for _, m := range index.Similar(text, 1) {
			other, _ := k.Assumption(m.ID)
			alike = append(alike, finding{[]state.Assumption{other, a}, "These two look alike. If they say the same, let one stand for both."})
		}
		index.Add(a.ID, text)
		if says := hints.Wording(a.Text); len(says) > 0 {
			worded = append(worded, finding{[]state.Assumption{a}, strings.Join(says, " ")})
		}
	}
	return append(alike, worded...)
}

// tidiedList shows a lead what stands out, each with the form that mends it.
func tidiedList(p screen.Page, f *block.Form) flows.Intent {
	f.Title = "Tidy the list"
	all := findings(p.Kickoff)
	if len(all) == 0 {
		f.Add(block.Text("Nothing stands out: no two entries look alike, and each reads like one belief."))
		return nil
	}
	f.Add(block.Text("%s to look at before the rating. Each is a guess from the words alone, so leave what is fine. Nobody is named here.", words.Count(len(all), "thing", "things")))
	args := screen.StageArgs(p, state.StageAssumptions)
	f.Add(block.Rows(all, screen.MostEntries, func(found finding) ([]block.Run, *slack.ButtonBlockElement) {
		var runs []block.Run
		for _, a := range found.about {
			runs = append(runs, block.Bold("%s ", a.ID), block.Typed(a.Text, 200), block.Plain("\n"))
		}
		runs = append(runs, block.Italic("%s", found.says))
		if args.Assumption = found.about[0].ID; len(found.about) > 1 {
			return runs, screen.Button("Join Them", "open/assumptions.join", args)
		}
		return runs, screen.Button("Change or Withdraw", "open/assumptions.edit", args)
	})...)
	return nil
}

// tidyNote says, before the list is closed, that something on it stands out.
func tidyNote(k state.Kickoff) []slack.Block {
	n := len(findings(k))
	if k.Stage != state.StageAssumptions || n == 0 {
		return nil
	}
	return []slack.Block{block.Note(words.Count(n, "thing", "things") + " on the list may be hard to rate as it stands: see Tidy the List, under More.")}
}
