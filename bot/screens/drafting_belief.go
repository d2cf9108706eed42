package screens

import (
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/flows"
	"soundings/prompts"
)

// Other words for one assumption: put more plainly, or taken apart. Whoever
// may change it may ask, and sees alone what comes.

// otherWords are the ways to other words that the form of an assumption
// offers: by hand always, and with a model where there is one.
func otherWords(p Page) []slack.Block {
	args := stageArgs(p, flows.StageAssumptions)
	args.Assumption = p.Args.Assumption
	row := []*slack.ButtonBlockElement{button("Take It Apart", "open/assumptions.split", args)}
	says := "Two beliefs in one? Take it apart, so that each can be rated by itself."
	if p.Drafting.Host != "" && p.Kickoff.BeliefDraftsLeft(p.Viewer) > 0 {
		row = append(row, button("Draft the Parts", draftVerb+flows.DraftSplit, args), button("Draft Plainer Words", draftVerb+flows.DraftPlainer, args))
		says += " A model can draft the parts, or plainer words. You see first what it would be sent, and only you see what comes."
	}
	return []slack.Block{block.Divider(), block.Text("%s", says), block.Buttons(row...)}
}

// mayReword finds the assumption that a form is about, and refuses whoever
// may not change it.
func mayReword(p Page) (flows.Assumption, error) {
	if err := mayAssume(p); err != nil {
		return flows.Assumption{}, err
	}
	a, ok := p.Kickoff.Assumption(p.Args.Assumption)
	if !ok || a.Withdrawn {
		return a, refusal("%s is not on the list any more.", p.Args.Assumption)
	}
	if a.JoinedTo != "" {
		return a, refusal("%s has been joined to %s, which stands for both. Change that one, or add one of your own.", a.ID, a.JoinedTo)
	}
	if a.By != p.Viewer && !p.Kickoff.IsLead(p.Viewer) {
		return a, refusal("Only whoever wrote %s, or the lead, can change it. You can add one of your own.", a.ID)
	}
	return a, nil
}

func sentOfAssumption(_ Page, a flows.Assumption) []string { return []string{a.Text} }

// usePlainer shows the draft beside the assumption; without one, the
// assumption itself, and questions that lead to plainer words.
func usePlainer(p Page, a flows.Assumption) (string, []slack.Block) {
	const title = "Plainer words"
	field := roundField(p, "text")
	draft := lastDraft(p.Args)
	if draft == "" {
		return title, []slack.Block{block.Para(block.Bold("By hand")), listing(prompts.PlainerQuestions()), textInput(field, a.ID, a.Text, true, flows.MaxText)}
	}
	return title, append(asItIs(a),
		textInput(field, "In plainer words", draft, true, flows.MaxText, block.Hint("Does it still say the same? “Not Now” leaves everything as it is.")))
}

// asItIs shows an assumption beside other words for it.
func asItIs(a flows.Assumption) []slack.Block {
	return []slack.Block{block.Para(block.Bold("%s as it stands", a.ID)), block.Quote(block.Typed(a.Text, flows.MaxText))}
}

func submitPlainer(p Page, v block.Values) (Answer, error) {
	a, ok := p.Kickoff.Assumption(p.Args.Assumption)
	if !ok {
		return Answer{}, fmt.Errorf("there is no assumption %q", p.Args.Assumption)
	}
	text, drafted := usedText(v.Text(roundField(p, "text")), lastDraft(p.Args))
	return Answer{Intents: []flows.Intent{flows.EditAssumption{By: by(p), ID: a.ID, Text: text, Because: a.Because, Drafted: drafted}}, CloseAll: true}, nil
}

// useParts shows the drafted parts; without any, it is the form in which an
// assumption is taken apart by hand.
func useParts(p Page, a flows.Assumption) (string, []slack.Block) {
	drafts := p.Args.Offered()
	if len(drafts) == 0 {
		return "Take " + a.ID + " apart", apart(p, a)
	}
	blocks := asItIs(a)
	for i, draft := range drafts {
		blocks = append(blocks, textInput(partField(p, i), fmt.Sprintf("Belief %d", i+1), draft, true, flows.MaxText, block.Optional))
	}
	return "Drafted parts", append(blocks, block.Note(keptReason(a)))
}

func submitParts(p Page, v block.Values) (Answer, error) { return splitAnswer(p, v, p.Args.Offered()) }

// listing is a list of sentences of ours.
func listing(all []string) slack.Block {
	items := make([][]block.Run, len(all))
	for i, s := range all {
		items[i] = []block.Run{block.Plain("%s", s)}
	}
	return block.Bullets(items...)
}

// splitAnswer reads the parts that are not empty. Refusals name a part by its
// place among those, so places without words are told of here.
func splitAnswer(p Page, v block.Values, drafts []string) (Answer, error) {
	var parts []flows.Part
	var fields []string
	for i := range flows.MostParts {
		draft := ""
		if i < len(drafts) {
			draft = drafts[i]
		}
		text, drafted := usedText(v.Text(partField(p, i)), draft)
		if text == "" {
			continue
		}
		if whole, ok := p.Kickoff.Assumption(p.Args.Assumption); ok && sameWords(whole.Text, text) {
			return faulty(partField(p, i), "This is still the whole. Leave one belief in it, and put the other into a field of its own.")
		}
		if slices.ContainsFunc(parts, func(o flows.Part) bool { return sameWords(o.Text, text) }) {
			return faulty(partField(p, i), "This says the same as one above. Write the other belief, or leave it out.")
		}
		parts, fields = append(parts, flows.Part{Text: text, Drafted: drafted}), append(fields, partField(p, i))
	}
	if len(parts) < flows.FewestParts {
		empty := partField(p, 0)
		if slices.Contains(fields, empty) {
			empty = partField(p, 1)
		}
		return faulty(empty, "It takes two beliefs. To change only the words, close this and press “Change or Withdraw”.")
	}
	return Answer{Intents: []flows.Intent{flows.SplitAssumption{By: by(p), ID: p.Args.Assumption, Parts: parts}}, CloseAll: true}, nil
}

// sameWords leaves letter case and the space around them aside.
func sameWords(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}

// keptReason says what becomes of the whole, and of the reason given for it.
func keptReason(a flows.Assumption) string {
	if a.Because == "" {
		return "Each part gets a number of its own, and " + a.ID + " leaves the list."
	}
	return "Each part gets a number of its own and keeps the reason given for " + a.ID + ", which leaves the list."
}
