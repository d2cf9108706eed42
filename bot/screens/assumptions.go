package screens

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/flows/imports"
	"soundings/flows/views"
)

func assumptionsForms() map[string]Form {
	return map[string]Form{
		"assumptions.add":  {May: mayAssume, Open: openAssumption, Submit: submitAssumption, More: moreAssumptions},
		"assumptions.list": {May: mayAssume, Open: openAssumptionList},
		"assumptions.edit": {May: mayAssume, Open: openAssumptionEdit, Wants: changedAssumption},
		"assumptions.join": {May: both(mayLead, answering(flows.StageAssumptions)), Open: openJoin, Wants: func(p Page, v block.Values) flows.Intent {
			return flows.JoinAssumptions{ByLead: byLead(p), Keep: v.Choice("keep"), Join: v.Choices("join")}
		}},
		"assumptions.import": {May: mayAssume, Open: openImport, Submit: submitImport},
		"assumptions.split":  {Open: draftKinds()[flows.DraftSplit].open, Submit: submitParts},
		"assumptions.halves": {May: mayAssume, Open: openAssumption, Submit: submitHalves}, // opens only from another form, as Halves

	}
}

func assumptionsActions() map[string]action {
	return map[string]action{
		"assumptions.done": func(p Page) (flows.Intent, string) {
			return flows.Finish{By: by(p), Stage: flows.StageAssumptions},
				"Thank you. Until it closes you can still add to the list or change what is yours."
		},
		"assumptions.withdraw": func(p Page) (flows.Intent, string) {
			return flows.WithdrawAssumption{By: by(p), ID: p.Args.Assumption}, p.Args.Assumption + " is off the list."
		},
	}
}

// riskList asks for beliefs with a question on each of the four kinds of risk.
func riskList() slack.Block {
	return block.Bullets(
		[]block.Run{block.Bold("Desirability. "), block.Plain("Will people want it, and change what they do today?")},
		[]block.Run{block.Bold("Viability. "), block.Plain("Is it worth it for us: money, rules, good name?")},
		[]block.Run{block.Bold("Feasibility. "), block.Plain("Can we do it: skill, data, technology, partners?")},
		[]block.Run{block.Bold("Usability. "), block.Plain("Will people find it, understand it, manage it?")},
	)
}

// assumptionsAsks asks for beliefs, and shows the newest of those that
// stand, without their authors.
func assumptionsAsks(p Page) (asking, error) {
	k := p.Kickoff
	args := stageArgs(p, flows.StageAssumptions)
	body := []slack.Block{block.Para(block.Bold("The problem: "), block.Typed(k.Problem(), 300)), riskList()}
	return asking{
		ask:     "Add what has to be true for this to work, one belief at a time.",
		why:     "Next we rate them, and test first what matters most and is known least. Who wrote what stays hidden until the rating has closed.",
		minutes: 5,
		body:    append(body, newestAssumptions(k)...),
		buttons: []*slack.ButtonBlockElement{
			button("Add an Assumption", "open/assumptions.add", args),
			button("That Is All", "do/assumptions.done", args),
			button("See or Change Mine", "open/assumptions.list", args),
		},
	}, nil
}

func assumptionsNudge(p Page) nudge {
	return owed(p, "Add what has to be true for this to work, or press That Is All.", 5,
		hereButton(p, "Add an Assumption", "open/assumptions.add"), hereButton(p, "That Is All", "do/assumptions.done"))
}

func assumptionsDesk(p Page) []*slack.ButtonBlockElement {
	args := stageArgs(p, flows.StageAssumptions)
	return []*slack.ButtonBlockElement{
		button("Join What Is the Same", "open/assumptions.join", args),
		button("Change Assumptions", "open/assumptions.list", args),
	}
}

func newestAssumptions(k flows.Kickoff) []slack.Block {
	const most = 12
	all := k.Listed()
	if len(all) == 0 {
		return []slack.Block{block.Text("None so far. The first one is the hardest.")}
	}
	title := fmt.Sprintf("%s so far", words.Count(len(all), "assumption", "assumptions"))
	if len(all) > most {
		title += fmt.Sprintf(", the newest %d of them", most)
	}
	return []slack.Block{block.Para(block.Bold("%s", title)), block.Bullets(assumptionItems(all[max(0, len(all)-most):], 150)...)}
}

func assumptionItems(all []flows.Assumption, longest int) [][]block.Run {
	items := make([][]block.Run, len(all))
	for i, a := range all {
		items[i] = append([]block.Run{block.Bold("%s ", a.ID), block.Typed(a.Text, longest)}, draftMark(a)...)
	}
	return items
}

// draftMark tells a machine's words, unedited, from what people wrote.
func draftMark(a flows.Assumption) []block.Run {
	if !a.Drafted {
		return nil
	}
	return []block.Run{block.Plain(" (a machine's draft)")}
}

// assumptionsResult is the list that will be rated.
func assumptionsResult(p Page) (Posting, error) {
	const most = 40
	k := p.Kickoff
	all := k.Listed()
	if len(all) == 0 {
		return line(p, "No assumptions", "Nobody added any, so there is nothing to rate and we go on to the tests."), nil
	}
	title := words.Count(len(all), "assumption", "assumptions") + " to rate"
	blocks := []slack.Block{block.Heading(title)}
	blocks = append(blocks, block.WithMore(assumptionItems(words.FirstOf(all, most), 150), len(all))...)
	if n := joinedCount(k); n > 0 {
		blocks = append(blocks, block.Note(fmt.Sprintf("%s said the same as another and stands with it; the wordings are kept.", words.Count(n, "assumption", "assumptions"))))
	}
	return Posting{Text: aloud(k, "%s. The ballot follows.", title), Blocks: blocks}, nil
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

// The forms in which people write down what has to be true.

// mayAssume lets people add beliefs from the first day on.
func mayAssume(p Page) error {
	if before(p.Kickoff.Stage, flows.StageAssumptions) {
		return mayTakePart(p)
	}
	return mayAnswer(p, flows.StageAssumptions)
}

func openAssumption(p Page) (slack.ModalViewRequest, error) {
	blocks := []slack.Block{block.Text("One belief at a time. These questions may bring some to mind:"), riskList()}
	return form("Add an assumption", "Add", append(blocks, assumptionInputs("", "", "")...)...), nil
}

func assumptionInputs(text, because, id string) []slack.Block {
	return append(assumptionTexts(text, because),
		textInput("id", "Your own reference", id, false, 16, block.Optional, block.Hint("Only if you keep a list, such as A7. Left empty, it gets a number.")))
}

func assumptionTexts(text, because string) []slack.Block {
	return []slack.Block{
		textInput("text", "What has to be true?", text, true, flows.MaxText,
			block.Hint("A sentence that can turn out wrong, such as: Passengers look at their phone before they set out.")),
		textInput("because", "What makes you think so?", because, true, flows.MaxText, block.Optional,
			block.Hint("Words or links. Whoever rates it sees this.")),
	}
}

// submitAssumption adds the belief. The first time it may show a second look
// instead: what says the same already, or how to word it; then it is taken
// as it is.
func submitAssumption(p Page, v block.Values) (Answer, error) {
	text, because, id := v.Text("text"), v.Text("because"), v.Text("id")
	if again, ok := secondLook(p, text, because, id); ok && !p.Args.Sure && mayAssume(p) == nil {
		return Answer{Next: &again}, nil
	}
	return wants(flows.AddAssumption{By: by(p), ID: id, Text: text, Because: because})
}

func moreAssumptions(p Page) slack.ModalViewRequest {
	return again(p, "It is on the list. Another one? One belief at a time.", form("Add an assumption", "Add", assumptionInputs("", "", "")...))
}

// openAssumptionList shows the viewer what they wrote; a lead sees the others
// as well, without authors.
func openAssumptionList(p Page) (slack.ModalViewRequest, error) {
	mine, others := ownAndOthers(p)
	blocks := []slack.Block{block.Para(block.Bold("Yours"))}
	if len(mine) == 0 {
		blocks = []slack.Block{block.Text("You have not added an assumption yet.")}
	}
	blocks = append(blocks, changeList(p, mine)...)
	if p.Kickoff.IsLead(p.Viewer) && len(others) > 0 {
		blocks = append(append(blocks, block.Divider(), block.Para(block.Bold("The others, which you can change as the lead"))), changeList(p, others)...)
	}
	blocks = append(blocks, block.Divider(),
		block.Text("You keep a list already? Paste it in: one row each."),
		block.Buttons(button("Paste a List", "open/assumptions.import", stageArgs(p, flows.StageAssumptions))))
	return form("Your assumptions", "", blocks...), nil
}

// ownAndOthers parts the assumptions that stand, the newest first.
func ownAndOthers(p Page) (own, others []flows.Assumption) {
	listed := p.Kickoff.Listed()
	slices.Reverse(listed)
	for _, a := range listed {
		if a.By == p.Viewer {
			own = append(own, a)
		} else {
			others = append(others, a)
		}
	}
	return own, others
}

// mostChangeable is how many entries a list offers to change, each with two
// blocks, twice over.
const mostChangeable = 22

func changeList(p Page, all []flows.Assumption) []slack.Block {
	args := stageArgs(p, flows.StageAssumptions)
	return block.Rows(all, mostChangeable, func(a flows.Assumption) ([]block.Run, *slack.ButtonBlockElement) {
		args.Assumption = a.ID
		return append([]block.Run{block.Bold("%s ", a.ID), block.Typed(a.Text, 300)}, draftMark(a)...), button("Change or Withdraw", "open/assumptions.edit", args)
	})
}

func openAssumptionEdit(p Page) (slack.ModalViewRequest, error) {
	a, ok := p.Kickoff.Assumption(p.Args.Assumption)
	if !ok || a.Withdrawn {
		return slack.ModalViewRequest{}, refusal("%s is not on the list any more.", p.Args.Assumption)
	}
	if a.By != p.Viewer && !p.Kickoff.IsLead(p.Viewer) {
		return slack.ModalViewRequest{}, refusal("Only whoever wrote %s, or the lead, can change it. You can add one of your own.", a.ID)
	}
	blocks := append(assumptionTexts(a.Text, a.Because), tickInput("withdraw", "Or take it back", nil,
		[]block.Option{{Value: "yes", Text: "Withdraw it from the list"}}, block.Optional))
	return form("Change "+a.ID, "Save", append(blocks, otherWords(p)...)...), nil
}

func changedAssumption(p Page, v block.Values) flows.Intent {
	if slices.Contains(v.Choices("withdraw"), "yes") {
		return flows.WithdrawAssumption{By: by(p), ID: p.Args.Assumption}
	}
	return flows.EditAssumption{By: by(p), ID: p.Args.Assumption, Text: v.Text("text"), Because: v.Text("because")}
}

func openJoin(p Page) (slack.ModalViewRequest, error) {
	var options []block.Option
	for _, a := range words.FirstOf(p.Kickoff.Listed(), block.MostOptions) {
		options = append(options, block.Option{Value: a.ID, Text: a.ID + " " + words.OneLine(a.Text)})
	}
	if len(options) < 2 {
		return slack.ModalViewRequest{}, refusal("There are not two assumptions to join yet.")
	}
	blocks := append([]slack.Block{block.Text("Where several say the same, one can stand for them. The other wordings are kept with it.")}, alikeList(p.Kickoff)...)
	return form("Join what is the same", "Join", append(blocks,
		selectInput("keep", "This one stays", "", options),
		manyInput("join", "It stands for these as well", nil, options))...), nil
}

func openImport(p Page) (slack.ModalViewRequest, error) {
	return form("Paste a list", "Add All",
		block.Text("One row each: the assumption, a comma, and what makes you think so. Or paste two columns from a spreadsheet."),
		textInput("csv", "The list", "", true, flows.MaxText,
			block.Hint(`A text that has a comma in it needs "quotation marks" around it. All rows are taken, or none.`)),
	), nil
}

func submitImport(p Page, v block.Values) (Answer, error) {
	rows, err := imports.Assumptions(v.Text("csv"))
	var r *flows.Refusal
	if errors.As(err, &r) {
		return faulty("csv", r.Reason)
	}
	if err != nil {
		return Answer{}, fmt.Errorf("read the list: %w", err)
	}
	// flows speaks of rows without a field; here there is one.
	intent := flows.ImportAssumptions{By: by(p), Rows: rows}
	if _, err := flows.Decide(p.Kickoff, intent, p.Now); errors.As(err, &r) && r.Field == "" {
		return faulty("csv", r.Reason)
	}
	return wants(intent)
}

// secondLook is the form for an assumption once more, with what was typed,
// and hints on its wording; ok is false when there is nothing to say, or
// when the form would be too long an answer.
func secondLook(p Page, text, because, id string) (again slack.ModalViewRequest, ok bool) {
	alike := views.Lookalikes(p.Kickoff, text)
	wording := hints.Wording(text)
	if len(alike)+len(wording) == 0 {
		return slack.ModalViewRequest{}, false
	}
	blocks := append(lookalikeBlocks(alike), hintBlocks(wording)...)
	blocks = append(blocks, block.Text("Change it below, or add it as it is. It is your call."))
	if len(hints.Halves(text)) > 0 {
		blocks = append(blocks, apartRow(p)...)
	}
	p.Args.Sure = true
	again = seal("assumptions.add", p, form("A second look", "Add", append(blocks, assumptionInputs(text, because, id)...)...))
	data, err := json.Marshal(again)
	return again, err == nil && len(data) < block.AnswerBytes
}

func lookalikeBlocks(alike []flows.Assumption) []slack.Block {
	if len(alike) == 0 {
		return nil
	}
	return []slack.Block{block.Para(block.Bold("Does one of these say it already?")), block.Bullets(assumptionItems(alike, 200)...)}
}

func hintBlocks(wording []string) []slack.Block {
	if len(wording) == 0 {
		return nil
	}
	items := make([][]block.Run, len(wording))
	for i, h := range wording {
		items[i] = []block.Run{block.Styled(h, nil)}
	}
	return []slack.Block{block.Para(block.Bold("A thought on the wording")), block.Bullets(items...)}
}

// mostAlike is how many pairs a lead is shown; alikeLimit is how many
// characters of a text are compared, so that the form opens in time however
// long the texts are.
const (
	mostAlike  = 8
	alikeLimit = 400
)

// alikeList shows the lead which assumptions look the same.
func alikeList(k flows.Kickoff) []slack.Block {
	index := hints.Index{}
	var items [][]block.Run
	for _, a := range k.Listed() {
		text := words.Clip(a.Text, alikeLimit)
		for _, m := range index.Similar(text, 1) {
			other, _ := k.Assumption(m.ID)
			items = append(items, []block.Run{block.Bold("%s ", other.ID), block.Typed(other.Text, 120), block.Bold("\n%s ", a.ID), block.Typed(a.Text, 120)})
		}
		index.Add(a.ID, text)
	}
	if len(items) == 0 {
		return nil
	}
	return append([]slack.Block{block.Para(block.Bold("These look alike"))}, block.WithMore(words.FirstOf(items, mostAlike), len(items))...)
}
