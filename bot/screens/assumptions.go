package screens

import (
	"errors"
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/hints"
	"soundings/flows/imports"
	"soundings/flows/state"
	"soundings/flows/views"
)

func assumptionsForms() map[string]screen.Form {
	split := draftKinds()[state.DraftSplit]
	return map[string]screen.Form{
		"assumptions.add": {May: mayAdd, Fill: drawAssumption, Submit: submitAssumption,
			Again: "It is on the list. Another one? One belief at a time."},
		"assumptions.tidy":   {May: screen.Both(screen.MayLead, screen.Answering(state.StageAssumptions)), Fill: tidiedList},
		"assumptions.list":   {May: mayAssume, Fill: listAssumptions},
		"assumptions.all":    {Fill: showAssumptions},
		"assumptions.edit":   {May: screen.Both(mayRevise, mayChange), Fill: changedAssumption},
		"assumptions.join":   {May: screen.Both(screen.Both(screen.MayLead, mayRevise), hasTwo), Fill: joinedAssumptions},
		"assumptions.import": {May: mayAssume, Fill: drawImport, Submit: submitImport},
		"assumptions.split":  {May: split.may, Fill: split.show, CloseAll: true},
		"assumptions.halves": {May: mayAdd, Fill: drawAssumption, Submit: submitHalves}, // opens only from another form, as Halves
	}
}

var assumptionsActions = map[string]screen.Action{
	"assumptions.done": func(p screen.Page) (flows.Intent, string) {
		return flows.Finish{By: screen.By(p), Stage: state.StageAssumptions},
			"Thank you. While it is open, you can add to the list or change what is yours."
	},
	"assumptions.withdraw": func(p screen.Page) (flows.Intent, string) {
		return flows.WithdrawAssumption{By: screen.By(p), ID: p.Args.Assumption}, p.Args.Assumption + " is off the list."
	},
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

// assumptionsAsks asks for beliefs; those that stand are one press away, without
// their authors.
func assumptionsAsks(p screen.Page) (screen.Asking, error) {
	args := screen.StageArgs(p, state.StageAssumptions)
	return screen.Asking{
		Ask:     "Add what has to be true for this to work, one belief at a time.",
		Why:     "Who wrote what stays hidden until it is rated.",
		Minutes: 5,
		Body:    []slack.Block{soFarText(p.Kickoff)},
		Buttons: []*slack.ButtonBlockElement{
			screen.Button("Add an Assumption", "open/assumptions.add", args),
			screen.Button("See the List", "open/assumptions.list", args),
			screen.Button("That Is All", "do/assumptions.done", args),
		},
	}, nil
}

func soFarText(k state.Kickoff) slack.Block {
	if n := len(k.Listed()); n > 0 {
		return block.Text("%s so far.", words.Count(n, "assumption", "assumptions"))
	}
	return block.Text("None so far.")
}

func assumptionsDesk(p screen.Page) []screen.Control {
	if len(p.Kickoff.Listed()) == 0 {
		return nil
	}
	args := screen.StageArgs(p, state.StageAssumptions)
	return []screen.Control{
		{Button: screen.Button("Tidy the List", "open/assumptions.tidy", args), Does: "See what is alike, or hard to rate."},
		{Button: screen.Button("Join What Is the Same", "open/assumptions.join", args), Does: "Let one stand for two."},
		{Button: screen.Button("Change Assumptions", "open/assumptions.list", args), Does: "Change their words, or take some off."},
	}
}

// assumptionList lists the first few of many assumptions.
func assumptionList(all []state.Assumption, most, longest int) []slack.Block {
	return block.List(all, most, func(a state.Assumption) []block.Run {
		return append([]block.Run{block.Bold("%s ", a.ID), block.Typed(a.Text, longest)}, draftMark(a.Drafted)...)
	})
}

// draftMark tells a machine's words, unedited, from what people wrote.
func draftMark(drafted bool) []block.Run {
	if !drafted {
		return nil
	}
	return []block.Run{block.Plain(draftedMark)}
}

const draftedMark = " (a machine's draft)"

// mostShown is how many assumptions a message in the channel shows; the rest is one
// press away.
const mostShown = 5

// showAssumptions shows the whole list, without authors.
func showAssumptions(p screen.Page, f *block.Form) flows.Intent {
	f.Title = "The assumptions"
	f.Add(assumptionList(p.Kickoff.Listed(), 100, 300)...)
	if len(f.Blocks) == 0 {
		f.Add(block.Text("The list is empty."))
	}
	return nil
}

// assumptionsResult is the list that will be rated.
func assumptionsResult(p screen.Page) (screen.Posting, error) {
	k := p.Kickoff
	all, joined := k.Listed(), 0
	if len(all) == 0 {
		return screen.Line(p, "No assumptions", "Nobody added any, so there is nothing to rate and we go on to the tests."), nil
	}
	for _, a := range k.Assumptions {
		if a.JoinedTo != "" && !a.Withdrawn {
			joined++
		}
	}
	title := words.Count(len(all), "assumption", "assumptions") + " to rate"
	blocks := append([]slack.Block{block.Heading(title)}, assumptionList(all, mostShown, 150)...)
	if joined > 0 {
		blocks = append(blocks, block.Note(fmt.Sprintf("%s said the same as another and stands with it; the wordings are kept.", words.Count(joined, "assumption", "assumptions"))))
	}
	if len(all) > mostShown {
		blocks = append(blocks, block.Buttons(screen.Button("See Them All", "open/assumptions.all", screen.StageArgs(p, state.StageAssumptions))))
	}
	if until, waits := screen.SettlingIn(k, state.StageTidying); waits {
		blocks = append(blocks, block.Para(block.Typed(words.LeadName(k), 60), block.Plain(" looks through the list first. The rating opens "), block.When(until), block.Plain(" your time at the latest.")))
	}
	return screen.Posting{Text: screen.Aloud(k, "%s. The ballot follows.", title), Blocks: blocks}, nil
}

// The forms in which people write down what has to be true.

// mayAssume lets people add beliefs from the first day on.
func mayAssume(p screen.Page) error {
	if screen.Before(p.Kickoff.Stage, state.StageAssumptions) {
		return screen.MayTakePart(p)
	}
	return screen.MayAnswer(p, state.StageAssumptions)
}

// mayRevise lets in whoever may change the list: while it is tidied, leads, and whoever
// was asked to look again at what they wrote.
func mayRevise(p screen.Page) error {
	if _, asked := state.SentBack(&p.Kickoff, p.Args.Assumption); p.Kickoff.Stage == state.StageTidying && (asked || p.Kickoff.IsLead(p.Viewer)) {
		return screen.MayTakePart(p)
	}
	return mayAssume(p)
}

// mayAdd lets people add beliefs underway as well.
func mayAdd(p screen.Page) error {
	if p.Kickoff.Stage == state.StageUnderway {
		return screen.MayTakePart(p)
	}
	return mayAssume(p)
}

func drawAssumption(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Add an assumption", "Add"
	if p.Args.Again == 0 {
		f.Add(block.Para(block.Bold("The problem: "), block.Typed(p.Kickoff.Problem(), 300)),
			block.Text("One belief at a time. These questions may bring some to mind:"), riskList())
	}
	addedAssumption(p, f, flows.AddAssumption{Text: words.Clip(p.Typed, flows.MaxText)})
	return nil
}

// addedAssumption asks for a belief; what is known of it stands in the fields.
func addedAssumption(p screen.Page, f *block.Form, stood flows.AddAssumption) flows.AddAssumption {
	text, because := assumptionTexts(f, stood.Text, stood.Because)
	id := f.Text("id", "Your own reference", stood.ID, block.OneLine, block.Longest(16), block.Optional,
		block.Hint("Only if you keep a list, such as A7. Left empty, it gets a number."))
	return flows.AddAssumption{By: screen.By(p), ID: id, Text: text, Because: because}
}

// Typed is what stands in the form of an assumption, as the belief that it
// would add.
func Typed(p screen.Page, v block.Values) flows.AddAssumption {
	return addedAssumption(p, block.Read(v), flows.AddAssumption{})
}

func assumptionTexts(f *block.Form, text, because string) (string, string) {
	text = f.Text("text", "What has to be true?", text,
		block.Hint("A sentence that can turn out wrong, such as: People look at their phone before they set out."))
	because = f.Text("because", "What makes you think so?", because, block.Optional, block.Hint("Words or links. Whoever rates it sees this."))
	return text, because
}

// submitAssumption adds the belief. A text that is new may get a second look first:
// what says the same already, or how to word it. Sent as it was, it is taken.
func submitAssumption(p screen.Page, v block.Values) (screen.Answer, error) {
	typed := Typed(p, v)
	if again, ok := secondLook(p, typed); ok && p.Args.Saw != screen.MarkOf(typed.Text) && mayAssume(p) == nil {
		return screen.Answer{Next: &again}, nil
	}
	return screen.Wants(typed)
}

// listAssumptions shows the viewer what they wrote and may change, and what
// others did, without authors. A lead may change these as well. The newest comes
// first.
func listAssumptions(p screen.Page, f *block.Form) flows.Intent {
	var mine, others []state.Assumption
	for _, a := range slices.Backward(p.Kickoff.Listed()) {
		if a.By == p.Viewer {
			mine = append(mine, a)
		} else {
			others = append(others, a)
		}
	}
	f.Title = "The assumptions"
	if len(mine) == 0 {
		f.Add(block.Text("You have not added an assumption yet."))
	} else {
		f.Add(block.Para(block.Bold("Yours")))
	}
	f.Add(changeList(p, mine)...)
	if p.Kickoff.IsLead(p.Viewer) && len(others) > 0 {
		f.Add(block.Divider(), block.Para(block.Bold("The others, which you can change as the lead")))
		f.Add(changeList(p, others)...)
	} else if len(others) > 0 {
		f.Add(block.Divider(), block.Para(block.Bold("What others have added")))
		f.Add(assumptionList(others, mostChangeable, 300)...)
	}
	f.Add(block.Divider(),
		block.Text("You keep a list already? Paste it in: one row each."),
		block.Buttons(screen.Button("Paste a List", "open/assumptions.import", screen.StageArgs(p, state.StageAssumptions))))
	return nil
}

// mostChangeable is how many entries a list offers to change, each with two
// blocks, twice over.
const mostChangeable = 22

func changeList(p screen.Page, all []state.Assumption) []slack.Block {
	args := screen.StageArgs(p, state.StageAssumptions)
	return block.Rows(all, mostChangeable, func(a state.Assumption) ([]block.Run, *slack.ButtonBlockElement) {
		args.Assumption = a.ID
		return append([]block.Run{block.Bold("%s ", a.ID), block.Typed(a.Text, 300)}, draftMark(a.Drafted)...), screen.Button("Change or Withdraw", "open/assumptions.edit", args)
	})
}

// mayChange refuses whoever may not change the assumption that a form is about.
func mayChange(p screen.Page) error {
	a, ok := p.Kickoff.Assumption(p.Args.Assumption)
	if !ok || a.Withdrawn {
		return screen.Refuse("%s is not on the list any more.", p.Args.Assumption)
	}
	if a.By != p.Viewer && !p.Kickoff.IsLead(p.Viewer) {
		return screen.Refuse("Only whoever wrote %s, or the lead, can change it. You can add one of your own.", a.ID)
	}
	return nil
}

func changedAssumption(p screen.Page, f *block.Form) flows.Intent {
	a, _ := p.Kickoff.Assumption(p.Args.Assumption)
	f.Title, f.Submit = "Change "+a.ID, "Save"
	text, because := assumptionTexts(f, a.Text, a.Because)
	withdraw := f.Tick("withdraw", "Or take it back", "yes", "Withdraw it from the list")
	f.Add(otherWords(p)...)
	if withdraw {
		return flows.WithdrawAssumption{By: screen.By(p), ID: p.Args.Assumption}
	}
	return flows.EditAssumption{By: screen.By(p), ID: p.Args.Assumption, Text: text, Because: because}
}

func hasTwo(p screen.Page) error {
	if len(p.Kickoff.Listed()) < 2 {
		return screen.Refuse("There are not two assumptions to join yet.")
	}
	return nil
}

func joinedAssumptions(p screen.Page, f *block.Form) flows.Intent {
	var options []block.Option
	for _, a := range words.FirstOf(p.Kickoff.Listed(), block.MostOptions) {
		options = append(options, block.Option{Value: a.ID, Text: a.ID + " " + words.OneLine(a.Text)})
	}
	f.Title, f.Submit = "Join what is the same", "Join"
	f.Add(block.Text("Where several say the same, one can stand for them. The other wordings are kept with it."))
	f.Add(alikeList(p.Kickoff)...)
	return flows.JoinAssumptions{ByLead: screen.ByLead(p), Keep: f.Select("keep", "This one stays", p.Args.Assumption, options),
		Join: f.Many("join", "It stands for these as well", nil, options)}
}

func drawImport(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Paste a list", "Add All"
	if p.Args.Choice == listAtStart {
		f.Close = "Later"
		f.Add(block.Text("The kickoff has begun. Now the assumptions: you can change them until the brief closes. Without a list there is a step in which everybody adds to it."))
	}
	f.Add(block.Text("One row each: the assumption, a comma, and what makes you think so. Or paste two columns from a spreadsheet."))
	f.Text("csv", "The list", "", block.Hint(`A text that has a comma in it needs "quotation marks" around it. All rows are taken, or none.`))
	return nil
}

func submitImport(p screen.Page, v block.Values) (screen.Answer, error) {
	rows, err := imports.Assumptions(v.Text("csv"))
	var r *flows.Refusal
	if errors.As(err, &r) {
		return screen.Faulty("csv", r.Reason)
	}
	if err != nil {
		return screen.Answer{}, fmt.Errorf("read the list: %w", err)
	}
	// flows speaks of rows without a field; here there is one.
	intent := flows.ImportAssumptions{By: screen.By(p), Rows: rows}
	if _, err := flows.Decide(p.Kickoff, intent, p.Now); errors.As(err, &r) && r.Field == "" {
		return screen.Faulty("csv", r.Reason)
	}
	answer, err := screen.Wants(intent)
	if p.Args.Choice == listAtStart {
		answer.Next = listWith(p, intent)
	}
	return answer, err
}

// listAtStart marks the form in which a lead pastes the list right after the start.
const listAtStart = "start"

// listWith is the list as it will be, to be looked through and changed.
func listWith(p screen.Page, in flows.ImportAssumptions) *slack.ModalViewRequest {
	events, err := flows.Decide(p.Kickoff, in, p.Now)
	if err != nil {
		return nil // what is due first changes nothing here, and the list is behind More
	}
	p.Kickoff = flows.Apply(p.Kickoff, p.Kickoff.Version+1, event.Record{At: p.Now, By: in.Who, Events: events})
	p.Args.Choice = ""
	if list := redrawn("assumptions.list", p); block.FitsAnswer(*list) {
		return list
	}
	return nil
}

// secondLook is the form for an assumption once more, with what was typed,
// and hints on its wording; ok is false when there is nothing to say, or
// when the form would be too long an answer.
func secondLook(p screen.Page, typed flows.AddAssumption) (again slack.ModalViewRequest, ok bool) {
	alike, wording := views.Lookalikes(p.Kickoff, typed.Text), hints.Wording(typed.Text)
	if len(alike)+len(wording) == 0 {
		return slack.ModalViewRequest{}, false
	}
	f := block.Form{Title: "A second look", Submit: "Add"}
	if len(alike) > 0 {
		f.Add(block.Para(block.Bold("Does one of these say it already?")))
		f.Add(assumptionList(alike, len(alike), 200)...)
	}
	if len(wording) > 0 {
		f.Add(block.Para(block.Bold("A thought on the wording")), block.Sentences(wording))
	}
	f.Add(block.Text("Change it below, or add it as it is."))
	if len(hints.Halves(typed.Text)) > 0 {
		f.Add(apartRow(p)...)
	}
	addedAssumption(p, &f, typed)
	p.Args.Saw = screen.MarkOf(typed.Text)
	again = screen.Seal("assumptions.add", p, &f)
	return again, block.FitsAnswer(again)
}

// mostAlike is how many pairs a lead is shown.
const mostAlike = 8

// alikeList shows the lead which assumptions look the same.
func alikeList(k state.Kickoff) []slack.Block {
	var items [][]block.Run
	for _, about := range flows.StandsOut(&k) {
		if len(about) > 1 {
			a, _ := k.Assumption(about[0])
			b, _ := k.Assumption(about[1])
			items = append(items, []block.Run{block.Bold("%s ", a.ID), block.Typed(a.Text, 120), block.Bold("\n%s ", b.ID), block.Typed(b.Text, 120)})
		}
	}
	if len(items) == 0 {
		return nil
	}
	return append([]slack.Block{block.Para(block.Bold("These look alike"))}, block.WithMore(words.FirstOf(items, mostAlike), len(items))...)
}
