package screens

import (
	"fmt"

	"github.com/slack-go/slack"

	"soundings/flows"
)

func assumptionsForms() map[string]Form {
	return map[string]Form{
		"assumptions.add":    {Open: openAssumption, Submit: submitAssumption, More: moreAssumptions},
		"assumptions.list":   {Open: openAssumptionList, Submit: nothingToSubmit},
		"assumptions.edit":   {Open: openAssumptionEdit, Submit: submitAssumptionEdit},
		"assumptions.join":   {Open: openJoin, Submit: submitJoin},
		"assumptions.import": {Open: openImport, Submit: submitImport},
	}
}

func assumptionsDeeds() map[string]deed {
	return map[string]deed{
		"assumptions.done": func(p Page) (flows.Intent, string) {
			return flows.Finish{By: by(p), Stage: flows.StageAssumptions},
				"Thank you. Until it closes you can still add to the list or change what is yours."
		},
		"assumptions.withdraw": func(p Page) (flows.Intent, string) {
			return flows.WithdrawAssumption{By: by(p), ID: p.Args.Assumption}, p.Args.Assumption + " is off the list."
		},
	}
}

// A lens is one of the four kinds of risk, as a question that brings beliefs
// to mind.
type lens struct{ kind, asks string }

func lenses() []lens {
	return []lens{
		{"Desirability", "Will people want it, and change what they do today?"},
		{"Viability", "Is it worth it for us: money, rules, good name?"},
		{"Feasibility", "Can we do it: skill, data, technology, partners?"},
		{"Usability", "Will people find it, understand it, manage it?"},
	}
}

func lensList() slack.Block {
	var items [][]word
	for _, l := range lenses() {
		items = append(items, []word{bold("%s. ", l.kind), plain("%s", l.asks)})
	}
	return bullets(items...)
}

// assumptionsMessage asks for beliefs, and shows the newest of those that
// stand, without their authors.
func assumptionsMessage(p Page) (Posting, error) {
	k := p.Kickoff
	args := stageArgs(p, flows.StageAssumptions)
	body := []slack.Block{para(bold("The problem: "), typed(k.Problem(), 300)), lensList()}
	return asking{
		stage:   flows.StageAssumptions,
		title:   stageName(flows.StageAssumptions),
		ask:     "Add what has to be true for this to work, one belief at a time.",
		why:     "Next we rate them, and test first what matters most and is known least. Who wrote what stays hidden until the rating has closed.",
		minutes: 5,
		body:    append(body, newestAssumptions(k)...),
		buttons: []*slack.ButtonBlockElement{
			button("Add an Assumption", "open/assumptions.add", args),
			button("That Is All", "do/assumptions.done", args),
			button("See or Change Mine", "open/assumptions.list", args),
		},
	}.posting(p), nil
}

func newestAssumptions(k flows.Kickoff) []slack.Block {
	const most = 12
	all := k.Listed()
	if len(all) == 0 {
		return []slack.Block{para(plain("None so far. The first one is the hardest."))}
	}
	title := fmt.Sprintf("%s so far", count(len(all), "assumption", "assumptions"))
	if len(all) > most {
		title += fmt.Sprintf(", the newest %d of them", most)
	}
	return []slack.Block{para(bold("%s", title)), bullets(assumptionItems(all[max(0, len(all)-most):], 150)...)}
}

func assumptionItems(all []flows.Assumption, longest int) [][]word {
	items := make([][]word, len(all))
	for i, a := range all {
		items[i] = append([]word{bold("%s ", a.ID), typed(a.Text, longest)}, draftMark(a)...)
	}
	return items
}

// draftMark tells a machine's words, unedited, from what people wrote.
func draftMark(a flows.Assumption) []word {
	if !a.Drafted {
		return nil
	}
	return []word{plain(" (a machine's draft)")}
}

// assumptionsResult is the list that will be rated.
func assumptionsResult(p Page) (Posting, error) {
	const most = 40
	k := p.Kickoff
	all := k.Listed()
	if len(all) == 0 {
		return line(p, "No assumptions", "Nobody added any, so there is nothing to rate and we go on to the tests."), nil
	}
	title := count(len(all), "assumption", "assumptions") + " to rate"
	blocks := []slack.Block{heading(title)}
	blocks = append(blocks, withMore(assumptionItems(firstOf(all, most), 150), len(all))...)
	if n := joinedCount(k); n > 0 {
		blocks = append(blocks, note(fmt.Sprintf("%s said the same as another and stands with it; the wordings are kept.", count(n, "assumption", "assumptions"))))
	}
	return Posting{Text: escape(fmt.Sprintf("%s: %s. The ballot follows.", clip(k.Brief.Title, 80), title)), Blocks: blocks}, nil
}

func joinedCount(k flows.Kickoff) int {
	n := 0
	for _, a := range k.Assumptions {
		if a.JoinedTo != "" && !a.Withdrawn {
			n++
		}
	}
	return n
}
