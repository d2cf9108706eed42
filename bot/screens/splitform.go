package screens

import (
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/flows"
	"soundings/flows/hints"
)

// Taking an assumption apart by hand.

// mostHalves is how many fields a form by hand has: two that are needed, and
// one more.
const mostHalves = flows.MostParts

// oneEach is how to fill in the fields.
const oneEach = "One belief in each field, as a whole sentence. Say in each who it is about, since people rate them apart."

// apart is the form's body: the whole, and a field for each belief, in which
// the pieces stand that the whole seems to fall into.
func apart(p Page, a flows.Assumption) []slack.Block {
	blocks := []slack.Block{block.Para(block.Bold("%s as it stands", a.ID)), block.Quote(block.Typed(a.Text, flows.MaxText)),
		block.Text(oneEach)}
	pieces := hints.Halves(a.Text)
	if len(pieces) == 0 {
		pieces = []string{a.Text} // on a phone it is easier to delete than to type
	}
	return append(append(blocks, halfInputs(p, pieces)...), block.Note(keptReason(a)))
}

// halfInputs are the fields, with the pieces where there are some.
func halfInputs(p Page, pieces []string) []slack.Block {
	var blocks []slack.Block
	for i := range mostHalves {
		piece := ""
		if i < len(pieces) {
			piece = pieces[i]
		}
		var options []block.Setting
		if i >= flows.FewestParts {
			options = append(options, block.Optional)
		}
		blocks = append(blocks, textInput(partField(p, i), fmt.Sprintf("Belief %d", i+1), piece, true, flows.MaxText, options...))
	}
	return blocks
}

// Halves is the form in which what was typed, and is not on the list yet, is
// added as two beliefs.
func Halves(p Page, v block.Values) (slack.ModalViewRequest, error) {
	if err := mayAssume(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	text := v.Text("text")
	blocks := []slack.Block{block.Text(oneEach)}
	if text != "" {
		blocks = append([]slack.Block{block.Para(block.Bold("As you wrote it")), block.Quote(block.Typed(text, flows.MaxText))}, blocks...)
	}
	blocks = append(append(blocks, halfInputs(p, hints.Halves(text))...),
		textInput("because", "What makes you think so?", v.Text("because"), true, flows.MaxText, block.Optional,
			block.Hint("Words or links. It goes with each of them.")))
	return seal("assumptions.halves", p, form("One belief each", "Add Them", blocks...)), nil
}

func submitHalves(p Page, v block.Values) (Answer, error) {
	read, err := splitAnswer(p, v, nil)
	if err != nil || len(read.Errors) > 0 {
		return read, err
	}
	var out Answer
	for _, part := range read.Intents[0].(flows.SplitAssumption).Parts {
		out.Intents = append(out.Intents, flows.AddAssumption{By: by(p), Text: part.Text, Because: v.Text("because")})
	}
	return out, nil
}

// Typed is what stands in the form of an assumption, as the belief that it
// would add.
func Typed(p Page, v block.Values) flows.AddAssumption {
	return flows.AddAssumption{By: by(p), ID: v.Text("id"), Text: v.Text("text"), Because: v.Text("because")}
}

// apartRow offers, for what is not on the list yet, to take it apart.
func apartRow(p Page) []slack.Block {
	args := stageArgs(p, flows.StageAssumptions)
	row := []*slack.ButtonBlockElement{button("Take It Apart", draftHalves, args)}
	if p.Drafting.Host == "" || p.Kickoff.BeliefDraftsLeft(p.Viewer) == 0 {
		return []slack.Block{block.Buttons(row...)}
	}
	return []slack.Block{block.Buttons(append(row, button("Draft the Parts", draftTyped, args))...),
		block.Note("“Draft the Parts” puts it on the list as it stands. Then you see what a model would be sent, before anything is.")}
}
