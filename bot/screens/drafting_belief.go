package screens

import (
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/flows"
	"soundings/prompts"
)

// Other words for one assumption: put more plainly, or taken apart. Whoever
// may change it may ask, and sees alone what comes.

// The buttons that lead to a model.
const (
	draftPlainer = "draft/plainer"
	draftSplit   = "draft/split"
	draftTyped   = "draft/typed" // of what stands in the form, which is not on the list yet
)

func beliefDraftForms() map[string]Form {
	return map[string]Form{
		"draft.plainer":     {Open: openPlainer, Submit: submitPlainer},
		"draft.plainer.use": {Open: openPlainerUse, Submit: submitPlainerUse},
		"draft.split":       {Open: openSplitDraft, Submit: submitSplitDraft},
		"draft.split.use":   {Open: openSplitUse, Submit: submitSplitUse},
	}
}

// otherWords are the ways to other words that the form of an assumption
// offers: by hand always, and with a model where there is one.
func otherWords(p Page) []slack.Block {
	args := stageArgs(p, flows.StageAssumptions)
	args.Assumption = p.Args.Assumption
	row := []*slack.ButtonBlockElement{button("Take It Apart", "open/assumptions.split", args)}
	says := "Two beliefs in one? Take it apart, so that each can be rated by itself."
	if p.Drafting.Host != "" && p.Kickoff.BeliefDraftsLeft(p.Viewer) > 0 {
		row = append(row, button("Draft the Parts", draftSplit, args), button("Draft Plainer Words", draftPlainer, args))
		says += " A model can draft the parts, or plainer words. You see first what it would be sent, and only you see what comes."
	}
	return []slack.Block{slack.NewDividerBlock(), para(plain("%s", says)), buttons(row...)}
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

// mayDraftBelief refuses a request for other words that would not be taken.
func mayDraftBelief(p Page) (flows.Assumption, error) {
	a, err := mayReword(p)
	if err != nil {
		return a, err
	}
	if p.Kickoff.BeliefDraftsLeft(p.Viewer) == 0 {
		return a, refusal("You cannot ask for more drafts of assumptions in this kickoff. Changing the words by hand works as before.")
	}
	return a, mayAskModel(p)
}

func openPlainer(p Page) (slack.ModalViewRequest, error) {
	a, err := mayDraftBelief(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	return request{
		title: "Plainer words",
		says:  fmt.Sprintf("A model words %s more plainly. Only you see the draft. You use, change or discard it; nothing changes by itself.", a.ID),
		sent:  []string{a.Text}, left: p.Kickoff.BeliefDraftsLeft(p.Viewer),
	}.view(p), nil
}

func submitPlainer(p Page, _ Values) (Answer, error) {
	return awaiting(flows.AskBeliefDraft{By: by(p), What: flows.DraftPlainer, Assumption: p.Args.Assumption})
}

// openPlainerUse shows the draft to be used, changed or discarded; without
// one, the assumption itself, and questions that lead to plainer words.
func openPlainerUse(p Page) (slack.ModalViewRequest, error) {
	a, err := mayReword(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	draft, drafted := oneDraft(p.Args)
	field := roundField(p, "text")
	if !drafted {
		blocks := append(whyNone(p), againRow(p, flows.DraftPlainer, p.Kickoff.BeliefDraftsLeft(p.Viewer))...)
		blocks = append(blocks, para(bold("By hand")), listing(prompts.PlainerQuestions()))
		return form("Plainer words", "Use These Words", append(blocks, textInput(field, a.ID, a.Text, true, flows.MaxText))...), nil
	}
	return form("Plainer words", "Use These Words",
		draftedBy(p, "Only you see it. Change it as you like. As it is, it stands on the list as a machine's draft, until somebody changes it."),
		para(bold("%s as it stands", a.ID)), quoted(typed(a.Text, flows.MaxText)),
		textInput(field, "In plainer words", draft, true, flows.MaxText, hint("Does it still say the same? “Not Now” leaves everything as it is.")),
	), nil
}

func submitPlainerUse(p Page, v Values) (Answer, error) {
	a, ok := p.Kickoff.Assumption(p.Args.Assumption)
	if !ok {
		return Answer{}, fmt.Errorf("there is no assumption %q", p.Args.Assumption)
	}
	draft, _ := oneDraft(p.Args)
	text, drafted := usedText(v.Text(roundField(p, "text")), draft)
	return Answer{Intents: []flows.Intent{flows.EditAssumption{By: by(p), ID: a.ID, Text: text, Because: a.Because, Drafted: drafted}}, CloseAll: true}, nil
}

func openSplitDraft(p Page) (slack.ModalViewRequest, error) {
	a, err := mayDraftBelief(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	return request{
		title: "Draft the parts",
		says:  fmt.Sprintf("A model takes %s apart, a sentence for each belief. Only you see the draft. You use, change or discard it; nothing changes by itself.", a.ID),
		sent:  []string{a.Text}, left: p.Kickoff.BeliefDraftsLeft(p.Viewer),
	}.view(p), nil
}

func submitSplitDraft(p Page, _ Values) (Answer, error) {
	return awaiting(flows.AskBeliefDraft{By: by(p), What: flows.DraftSplit, Assumption: p.Args.Assumption})
}

// openSplitUse shows the drafted parts; without any, it is the form in which
// an assumption is taken apart by hand.
func openSplitUse(p Page) (slack.ModalViewRequest, error) {
	a, err := mayReword(p)
	if err != nil {
		return slack.ModalViewRequest{}, err
	}
	drafts := p.Args.Offered()
	if len(drafts) == 0 {
		blocks := append(whyNone(p), againRow(p, flows.DraftSplit, p.Kickoff.BeliefDraftsLeft(p.Viewer))...)
		return form("Take "+a.ID+" apart", "Take Apart", append(blocks, apart(p, a)...)...), nil
	}
	blocks := []slack.Block{
		draftedBy(p, "Only you see them. Change them as you like; empty one to leave it out. A part that you leave as it is stands on the list as a machine's draft, until somebody changes it."),
		para(bold("%s as it stands", a.ID)), quoted(typed(a.Text, flows.MaxText)),
	}
	for i, draft := range drafts {
		blocks = append(blocks, textInput(partField(p, i), fmt.Sprintf("Belief %d", i+1), draft, true, flows.MaxText, optional))
	}
	return form("Drafted parts", "Take Apart", append(blocks, note(keptReason(a)))...), nil
}

func submitSplitUse(p Page, v Values) (Answer, error) {
	return splitAnswer(p, v, p.Args.Offered())
}

// oneDraft is the draft that travels with the form.
func oneDraft(a Args) (string, bool) {
	all := a.Offered()
	if len(all) == 0 {
		return "", false
	}
	return all[len(all)-1], true
}

// usedText tells a draft that is used as it is from one that was changed.
// Blanks around the words do not make it a person's.
func usedText(text, draft string) (string, bool) {
	if draft != "" && strings.TrimSpace(text) == strings.TrimSpace(draft) {
		return draft, true
	}
	return text, false
}

// roundField names a field after the request that it belongs to: what was
// typed over one draft must not show over another. A refusal finds it by its
// beginning.
func roundField(p Page, name string) string { return fmt.Sprintf("%s/%d", name, p.Args.N) }

// partField names the field of part i, from 0.
func partField(p Page, i int) string { return roundField(p, fmt.Sprintf("part/%d", i+1)) }

// listing is a list of sentences of ours.
func listing(all []string) slack.Block {
	items := make([][]word, len(all))
	for i, s := range all {
		items[i] = []word{plain("%s", s)}
	}
	return bullets(items...)
}

// splitAnswer reads the parts that are not empty. Refusals name a part by its
// place among those, so places without words are told of here.
func splitAnswer(p Page, v Values, drafts []string) (Answer, error) {
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
