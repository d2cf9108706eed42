package screens

import (
	"errors"
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/flows"
	"soundings/flows/imports"
)

// The forms in which people write down what has to be true.

// mayAssume lets people add beliefs from the first day on.
func mayAssume(p Page) error {
	early := slices.Index(flows.Stages(), p.Kickoff.Stage) < slices.Index(flows.Stages(), flows.StageAssumptions)
	if early {
		return mayTakePart(p)
	}
	return mayAnswer(p, flows.StageAssumptions)
}

func openAssumption(p Page) (slack.ModalViewRequest, error) {
	if err := mayAssume(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	blocks := []slack.Block{para(plain("One belief at a time. These questions may bring some to mind:")), lensList()}
	return form("Add an assumption", "Add", append(blocks, assumptionInputs("", "", "")...)...), nil
}

func assumptionInputs(text, because, id string) []slack.Block {
	return append(assumptionTexts(text, because),
		textInput("id", "Your own reference", id, false, 16, optional, hint("Only if you keep a list, such as A7. Left empty, it gets a number.")))
}

func assumptionTexts(text, because string) []slack.Block {
	return []slack.Block{
		textInput("text", "What has to be true?", text, true, flows.MaxText,
			hint("A sentence that can turn out wrong, such as: Passengers look at their phone before they set out.")),
		textInput("because", "What makes you think so?", because, true, flows.MaxText, optional,
			hint("Words or links. Whoever rates it sees this.")),
	}
}

// submitAssumption adds the belief. The first time it may show a second look
// instead: what says the same already, or how to word it; then it is taken
// as it is.
func submitAssumption(p Page, v Values) (Answer, error) {
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
	if err := mayAssume(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	mine, others := ownAndOthers(p)
	blocks := []slack.Block{para(bold("Yours"))}
	if len(mine) == 0 {
		blocks = []slack.Block{para(plain("You have not added an assumption yet."))}
	}
	blocks = append(blocks, changeList(p, mine)...)
	if p.Kickoff.IsLead(p.Viewer) && len(others) > 0 {
		blocks = append(append(blocks, slack.NewDividerBlock(), para(bold("The others, which you can change as the lead"))), changeList(p, others)...)
	}
	blocks = append(blocks, slack.NewDividerBlock(),
		para(plain("You keep a list already? Paste it in: one row each.")),
		buttons(button("Paste a List", "open/assumptions.import", stageArgs(p, flows.StageAssumptions))))
	return form("Your assumptions", "", blocks...), nil
}

// mostChangeable is how many entries a list offers to change, each with two
// blocks, twice over.
const mostChangeable = 22

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

func changeList(p Page, all []flows.Assumption) []slack.Block {
	var blocks []slack.Block
	for _, a := range firstOf(all, mostChangeable) {
		args := stageArgs(p, flows.StageAssumptions)
		args.Assumption = a.ID
		blocks = append(blocks, para(append([]word{bold("%s ", a.ID), typed(a.Text, 300)}, draftMark(a)...)...),
			buttons(button("Change or Withdraw", "open/assumptions.edit", args)))
	}
	if left := len(all) - mostChangeable; left > 0 {
		blocks = append(blocks, para(plain("And %d more.", left)))
	}
	return blocks
}

func openAssumptionEdit(p Page) (slack.ModalViewRequest, error) {
	if err := mayAssume(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	a, ok := p.Kickoff.Assumption(p.Args.Assumption)
	if !ok || a.Withdrawn {
		return slack.ModalViewRequest{}, refusal("%s is not on the list any more.", p.Args.Assumption)
	}
	if a.By != p.Viewer && !p.Kickoff.IsLead(p.Viewer) {
		return slack.ModalViewRequest{}, refusal("Only whoever wrote %s, or the lead, can change it. You can add one of your own.", a.ID)
	}
	blocks := append(assumptionTexts(a.Text, a.Because), tickInput("withdraw", "Or take it back", nil,
		[]option{{Value: "yes", Text: "Withdraw it from the list"}}, optional))
	return form("Change "+a.ID, "Save", append(blocks, otherWords(p)...)...), nil
}

func submitAssumptionEdit(p Page, v Values) (Answer, error) {
	if slices.Contains(v.Choices("withdraw"), "yes") {
		return wants(flows.WithdrawAssumption{By: by(p), ID: p.Args.Assumption})
	}
	return wants(flows.EditAssumption{By: by(p), ID: p.Args.Assumption, Text: v.Text("text"), Because: v.Text("because")})
}

// mostOptions is how many options a list to choose from holds.
const mostOptions = 100

func openJoin(p Page) (slack.ModalViewRequest, error) {
	if err := mayLead(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	if err := mayAnswer(p, flows.StageAssumptions); err != nil {
		return slack.ModalViewRequest{}, err
	}
	var options []option
	for _, a := range firstOf(p.Kickoff.Listed(), mostOptions) {
		options = append(options, option{Value: a.ID, Text: a.ID + " " + oneLine(a.Text)})
	}
	if len(options) < 2 {
		return slack.ModalViewRequest{}, refusal("There are not two assumptions to join yet.")
	}
	blocks := append([]slack.Block{para(plain("Where several say the same, one can stand for them. The other wordings are kept with it."))}, alikeList(p.Kickoff)...)
	return form("Join what is the same", "Join", append(blocks,
		selectInput("keep", "This one stays", "", options),
		manyInput("join", "It stands for these as well", nil, options))...), nil
}

func submitJoin(p Page, v Values) (Answer, error) {
	return wants(flows.JoinAssumptions{ByLead: byLead(p), Keep: v.Choice("keep"), Join: v.Choices("join")})
}

func openImport(p Page) (slack.ModalViewRequest, error) {
	if err := mayAssume(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	return form("Paste a list", "Add All",
		para(plain("One row each: the assumption, a comma, and what makes you think so. Or paste two columns from a spreadsheet.")),
		textInput("csv", "The list", "", true, flows.MaxText,
			hint(`A text that has a comma in it needs "quotation marks" around it. All rows are taken, or none.`)),
	), nil
}

func submitImport(p Page, v Values) (Answer, error) {
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
