package screens

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/prompts"
)

// Drafting: somebody sees what would be sent, sends it, and uses, changes or
// discards what comes. Nobody else sees any of it.

// The buttons of drafting have a verb of their own, since what is behind them
// takes a model and not only a kickoff. draft/<kind> opens a preview.
const (
	draftVerb   = "draft/"
	draftOthers = "draft/others" // asks once more; Args.Choice says for what, the ladder unless it does
	draftHalves = "draft/halves" // takes what stands in the form apart, by hand
	draftTyped  = "draft/typed"  // drafts the parts of what stands in the form, which is not on the list yet
)

// A draftKind is one kind of draft as people meet it: a preview of what a model
// would be sent, and a form in which what came is used, changed or discarded.
type draftKind struct {
	what string // as flows names it
	form string // the name of the form that shows what came

	stage state.Stage             // in which a draft is of use
	may   func(screen.Page) error // refuses whom it does not concern
	title string                  // of the preview
	says  string                  // what is drafted, and what becomes of it; %s is the assumption
	sent  func(screen.Page, state.Assumption) []string
	more  string                                            // small print
	above func(screen.Page, state.Assumption) []slack.Block // what stands above the preview

	shown string                                                        // what becomes of a draft that came
	send  string                                                        // the button of the form for it
	fill  func(screen.Page, *block.Form, state.Assumption) flows.Intent // that form, or without a draft the way by hand
	read  func(screen.Page, block.Values) (screen.Answer, error)        // what it means, in place of one intent; may be nil
}

// draftKinds is a function because a table may not refer to itself: its rows
// ask the table of stages who may do what, and forms of these rows stand there.
func draftKinds() map[string]draftKind {
	return map[string]draftKind{
		state.DraftLadder: {
			what: state.DraftLadder, form: "draft.use", stage: state.StageFraming, may: mayBuildLadder,
			title: "Draft wordings",
			says:  "A model drafts two broader and two narrower wordings. Only you see them. You use, change or discard them; nothing is posted by itself.",
			sent:  sentOfBrief,
			more:  " “Four Others” sends the drafts offered before as well.",
			shown: "Only you see them. Tick what is worth arguing with, and change the words as you like: a draft that you change is yours, one that you leave as it is stands on the ladder as a machine's draft.",
			send:  "Add to the Ladder", fill: drawWordings, read: submitWordings,
		},
		state.DraftPlainer: {
			what: state.DraftPlainer, form: "draft.plainer.use", stage: state.StageAssumptions, may: mayReword,
			title: "Plainer words",
			says:  "A model words %s more plainly. Only you see the draft. You use, change or discard it; nothing changes by itself.",
			sent:  sentOfAssumption,
			shown: "Only you see it. Change it as you like. As it is, it stands on the list as a machine's draft, until somebody changes it.",
			send:  "Use These Words", fill: plainerWords,
		},
		state.DraftSplit: {
			what: state.DraftSplit, form: "draft.split.use", stage: state.StageAssumptions, may: mayReword,
			title: "Draft the parts",
			says:  "A model takes %s apart, a sentence for each belief. Only you see the draft. You use, change or discard it; nothing changes by itself.",
			sent:  sentOfAssumption,
			shown: "Only you see them. Change them as you like; empty one to leave it out. A part that you leave as it is stands on the list as a machine's draft, until somebody changes it.",
			send:  "Take Apart", fill: takenApart,
		},
		state.DraftGist: {
			what: state.DraftGist, form: "draft.gist.use", stage: state.StageRating, may: mayGist,
			title: "Sum up the reasons",
			says:  "A model says in two sentences what the unsigned reasons about %s say, without taking a side. Only you see the draft. Nothing is posted by itself.",
			sent:  sentOfReasons,
			more:  " The reasons are sent in the order of the alphabet, so that nobody can tell which came first.",
			above: gistInThread,
			shown: "Only you see it. Change it as you like. As it is, it stands in the thread as a machine's draft, until a lead changes it.",
			send:  "Post in the Thread", fill: draftedGist,
		},
	}
}

func draftingForms() map[string]screen.Form {
	all := map[string]screen.Form{"rating.gist": {May: mayGist, Fill: changedGist, CloseAll: true}}
	for _, d := range draftKinds() {
		all["draft."+d.what] = screen.Form{May: screen.Both(d.may, d.mayAsk), Fill: d.preview, Submit: d.ask}
		all[d.form] = screen.Form{May: d.may, Fill: d.show, Submit: d.read, CloseAll: true}
	}
	return all
}

// mayAsk refuses a preview of what could not be sent.
func (d draftKind) mayAsk(p screen.Page) error {
	if p.Drafting.Host == "" {
		return screen.Refuse("%s", prompts.Explain(prompts.Ladder, prompts.ErrOff))
	}
	var refused *flows.Refusal
	if _, err := flows.Decide(p.Kickoff, d.intent(p), p.Now); errors.As(err, &refused) {
		return refused // it was asked for too often
	}
	return nil
}

// preview says what would be sent and where to, first in short, then to the
// letter.
func (d draftKind) preview(p screen.Page, f *block.Form) flows.Intent {
	a, _ := p.Kickoff.Assumption(p.Args.Assumption)
	f.Title, f.Submit = d.title, "Send"
	if d.above != nil {
		f.Add(d.above(p, a)...)
	}
	f.Add(block.Text("%s", strings.Replace(d.says, "%s", a.ID, 1)),
		block.Para(block.Bold("Sent to: "), block.Typed(p.Drafting.Host, 250), block.Bold("  Model: "), block.Typed(p.Drafting.Model, 250)),
		block.Text("Of what people wrote, this is sent and nothing else:"))
	for _, text := range d.sent(p, a) {
		f.Add(block.Quote(block.Typed(text, flows.MaxText)))
	}
	f.Add(block.Text("It takes up to half a minute. You can ask %s in this kickoff.", words.Count(d.left(p), "more time", "more times")),
		block.Divider(), block.Para(block.Bold("The whole request, to the letter")))
	const most = 2900 // characters of one block
	for piece := range slices.Chunk([]rune(p.Drafting.Request), most) {
		f.Add(block.Code(string(piece)))
	}
	f.Add(block.Note("A key goes with it where the server wants one. An answer that does not pass our checks is sent back once, with the names of the rules that it broke." + d.more))
	return nil
}

func (d draftKind) intent(p screen.Page) flows.Intent {
	return flows.AskDraft{By: flows.By{Who: p.Viewer}, What: d.what, Assumption: p.Args.Assumption}
}

func (d draftKind) left(p screen.Page) int { return flows.DraftsLeft(&p.Kickoff, d.what, p.Viewer) }

// ask is the answer to a sent preview: the model is asked, and its drafts come
// into the same form.
func (d draftKind) ask(p screen.Page, _ block.Values) (screen.Answer, error) {
	wait := Drafting()
	return screen.Answer{Intents: []flows.Intent{d.intent(p)}, Next: &wait}, nil
}

// Drafting is what somebody sees while a model is at it.
func Drafting() slack.ModalViewRequest {
	return Notice("Drafting…", "The model is being asked. Its drafts appear here, mostly within half a minute. If you close this, they are not kept.")
}

// show is the form with what came, with earlier drafts where no others did;
// without any, it is the way by hand.
func (d draftKind) show(p screen.Page, f *block.Form) flows.Intent {
	f.Submit = d.send
	drafted, said := p.Args.Drafts != "", p.Drafting.Said
	if !drafted && said != "" {
		f.Add(block.Para(block.Bold("No draft came. "), block.Plain("%s", said)))
		if d.left(p) > 0 {
			args := p.Args
			args.Choice = d.what
			f.Add(block.Buttons(screen.Button("Ask Again", draftOthers, args)))
		}
	}
	if drafted && said != "" {
		f.Add(block.Para(block.Bold("No others came. "), block.Plain("%s These are the earlier ones.", said)))
	}
	if drafted {
		f.Add(block.Para(block.Plain("Drafted by "), block.Typed(p.Drafting.Model, 100), block.Plain(" at "), block.Typed(p.Drafting.Host, 100), block.Plain("%s", ". "+d.shown)))
	}
	a, _ := p.Kickoff.Assumption(p.Args.Assumption)
	return d.fill(p, f, a)
}

// ShowDrafts is the form with what came of a request, or why nothing did. The
// ladder has a form of its own for the way by hand.
func ShowDrafts(what string, p screen.Page) (slack.ModalViewRequest, error) {
	d := draftKinds()[what]
	p.Args.Stage, p.Args.N = string(d.stage), flows.DraftsTaken(&p.Kickoff, what, p.Viewer)
	switch {
	case what != state.DraftLadder:
	case !flows.DraftUseful(&p.Kickoff, what, "", p.Viewer):
		return Notice("No drafts any more", fmt.Sprintf("“%s” has closed meanwhile, so no drafts were made.", flows.TitleOf(state.StageFraming))), nil
	case p.Args.Drafts == "":
		return noDrafts(p, p.Drafting.Said), nil
	}
	return Open(d.form, p)
}

// lastDraft is the latest draft that travels with the form; empty without any.
func lastDraft(a screen.Args) string {
	return a.Drafts[strings.LastIndex(a.Drafts, "\n")+1:]
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
func roundField(p screen.Page, name string) string { return fmt.Sprintf("%s/%d", name, p.Args.N) }

// onDesk puts a row of buttons above those about people.
func onDesk(m screen.Posting, says string, row []*slack.ButtonBlockElement) screen.Posting {
	at := max(0, len(m.Blocks)-2)
	m.Blocks = slices.Insert(slices.Clone(m.Blocks), at, slack.Block(block.Text("%s", says)), block.Buttons(row...))
	return m
}
