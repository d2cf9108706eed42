package screens

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/hints"
	"soundings/flows/state"
	"soundings/prompts"
)

// Other words for one assumption: put more plainly, or taken apart. Whoever
// may change it may ask, and sees alone what comes.

// otherWords are the ways to other words that the form of an assumption
// offers: by hand always, and with a model where there is one.
func otherWords(p screen.Page) []slack.Block {
	args := screen.StageArgs(p, state.StageAssumptions)
	args.Assumption = p.Args.Assumption
	row := []*slack.ButtonBlockElement{screen.Button("Take It Apart", "open/assumptions.split", args)}
	says := "Two beliefs in one? Take it apart, so that each can be rated by itself."
	if p.Drafting.Host != "" && flows.BeliefDraftsLeft(&p.Kickoff, p.Viewer) > 0 {
		row = append(row, screen.Button("Draft the Parts", draftVerb+state.DraftSplit, args), screen.Button("Draft Plainer Words", draftVerb+state.DraftPlainer, args))
		says += " A model can draft the parts, or plainer words. You see first what it would be sent, and only you see what comes."
	}
	return []slack.Block{block.Divider(), block.Text("%s", says), block.Buttons(row...)}
}

// mayReword refuses whoever may not put an assumption into other words.
func mayReword(p screen.Page) error {
	if err := mayRevise(p); err != nil {
		return err
	}
	if a, _ := p.Kickoff.Assumption(p.Args.Assumption); a.JoinedTo != "" && !a.Withdrawn {
		return screen.Refuse("%s has been joined to %s, which stands for both. Change that one, or add one of your own.", a.ID, a.JoinedTo)
	}
	return mayChange(p)
}

func sentOfAssumption(_ screen.Page, a state.Assumption) []string { return []string{a.Text} }

// plainerWords shows the draft beside the assumption; without one, the
// assumption itself, and questions that lead to plainer words.
func plainerWords(p screen.Page, f *block.Form, a state.Assumption) flows.Intent {
	f.Title = "Plainer words"
	field, draft := roundField(p, "text"), lastDraft(p.Args)
	var text string
	if draft == "" {
		f.Add(block.Para(block.Bold("By hand")), block.Sentences(prompts.PlainerQuestions()))
		text = f.Text(field, a.ID, a.Text)
	} else {
		f.Add(asItIs(a)...)
		text = f.Text(field, "In plainer words", draft, block.Hint("Does it still say the same? “Not Now” leaves everything as it is."))
	}
	in := flows.EditAssumption{By: screen.By(p), ID: p.Args.Assumption, Because: a.Because}
	in.Text, in.Drafted = usedText(text, draft)
	return in
}

// asItIs shows an assumption beside other words for it.
func asItIs(a state.Assumption) []slack.Block {
	return []slack.Block{block.Para(block.Bold("%s as it stands", a.ID)), block.Quote(block.Typed(a.Text, flows.MaxText))}
}

// takenApart shows the drafted parts; without any, it is the form in which an
// assumption is taken apart by hand, with the pieces that it seems to fall into.
func takenApart(p screen.Page, f *block.Form, a state.Assumption) flows.Intent {
	drafts := p.Args.Offered()
	f.Title = "Drafted parts"
	f.Add(asItIs(a)...)
	in := flows.SplitAssumption{By: screen.By(p), ID: p.Args.Assumption}
	if len(drafts) > 0 {
		in.Parts = partEntries(p, f, drafts, true)
	} else {
		f.Title = "Take " + a.ID + " apart"
		f.Add(block.Text(oneEach))
		pieces := hints.Halves(a.Text)
		if len(pieces) == 0 {
			pieces = []string{a.Text} // on a phone it is easier to delete than to type
		}
		in.Parts = partEntries(p, f, pieces, false)
	}
	f.Add(block.Note(keptReason(a)))
	return in
}

// oneEach is how to fill in the fields of parts.
const oneEach = "One belief in each field, as a whole sentence. Say in each who it is about, since people rate them apart."

// partEntries ask for the parts of an assumption: as many as were drafted, or
// by hand as many as there may be. Refusals name a part by its place among
// those that are not empty, so places without words are told of here.
func partEntries(p screen.Page, f *block.Form, stood []string, drafted bool) []flows.Part {
	var parts []flows.Part
	fields := flows.MostParts
	if drafted {
		fields = len(stood)
	}
	whole, known := p.Kickoff.Assumption(p.Args.Assumption)
	empty := ""
	for i := range fields {
		piece, draft := "", ""
		if i < len(stood) {
			piece = stood[i]
		}
		var settings []block.Setting
		if drafted {
			draft = piece
		}
		if drafted || i >= flows.FewestParts {
			settings = append(settings, block.Optional)
		}
		field := roundField(p, fmt.Sprintf("part/%d", i+1))
		text, same := usedText(f.Text(field, fmt.Sprintf("Belief %d", i+1), piece, settings...), draft)
		switch {
		case text == "":
			empty = cmp.Or(empty, field)
		case len(f.Faults) > 0:
		case known && sameWords(whole.Text, text):
			f.Fault(field, "This is still the whole. Leave one belief in it, and put the other into a field of its own.")
		case slices.ContainsFunc(parts, func(o flows.Part) bool { return sameWords(o.Text, text) }):
			f.Fault(field, "This says the same as one above. Write the other belief, or leave it out.")
		default:
			parts = append(parts, flows.Part{Text: text, Drafted: same})
		}
	}
	if len(parts) < flows.FewestParts && len(f.Faults) == 0 {
		f.Fault(empty, "It takes two beliefs. To change only the words, close this and press “Change or Withdraw”.")
	}
	return parts
}

// Halves is the form in which what was typed, and is not on the list yet, is
// added as two beliefs.
func Halves(p screen.Page, v block.Values) (slack.ModalViewRequest, error) {
	if err := mayAssume(p); err != nil {
		return slack.ModalViewRequest{}, err
	}
	typed := Typed(p, v)
	f := block.Form{Title: "One belief each", Submit: "Add Them"}
	if typed.Text != "" {
		f.Add(block.Para(block.Bold("As you wrote it")), block.Quote(block.Typed(typed.Text, flows.MaxText)))
	}
	f.Add(block.Text(oneEach))
	halfEntries(p, &f, typed)
	return screen.Seal("assumptions.halves", p, &f), nil
}

// halfEntries ask for the parts of what was typed, each an assumption.
func halfEntries(p screen.Page, f *block.Form, typed flows.AddAssumption) []flows.Intent {
	parts := partEntries(p, f, hints.Halves(typed.Text), false)
	because := f.Text("because", "What makes you think so?", typed.Because, block.Optional, block.Hint("Words or links. It goes with each of them."))
	var all []flows.Intent
	for _, part := range parts {
		all = append(all, flows.AddAssumption{By: screen.By(p), Text: part.Text, Because: because})
	}
	return all
}

func submitHalves(p screen.Page, v block.Values) (screen.Answer, error) {
	f := block.Read(v)
	intents := halfEntries(p, f, flows.AddAssumption{})
	if len(f.Faults) > 0 {
		return screen.Answer{Errors: f.Faults}, nil
	}
	return screen.Answer{Intents: intents}, nil
}

// sameWords leaves letter case and the space around them aside.
func sameWords(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}

// apartRow offers, for what is not on the list yet, to take it apart.
func apartRow(p screen.Page) []slack.Block {
	args := screen.StageArgs(p, state.StageAssumptions)
	row := []*slack.ButtonBlockElement{screen.Button("Take It Apart", draftHalves, args)}
	if p.Drafting.Host == "" || flows.BeliefDraftsLeft(&p.Kickoff, p.Viewer) == 0 {
		return []slack.Block{block.Buttons(row...)}
	}
	return []slack.Block{block.Buttons(append(row, screen.Button("Draft the Parts", draftTyped, args))...),
		block.Note("“Draft the Parts” puts it on the list as it stands. Then you see what a model would be sent, before anything is.")}
}

// keptReason says what becomes of the whole, and of the reason given for it.
func keptReason(a state.Assumption) string {
	if a.Because == "" {
		return "Each part gets a number of its own, and " + a.ID + " leaves the list."
	}
	return "Each part gets a number of its own and keeps the reason given for " + a.ID + ", which leaves the list."
}
