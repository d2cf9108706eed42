// Package planning draws what is asked of the kinds of risk and of tests, with the ideas of
// the method guide, and reads it back. Start with [Forms]; the row of the stage in package
// screens names the rest.
package planning

import (
	"cmp"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
	"soundings/flows/state"
)

// Forms are the forms of planning tests, by name.
func Forms() map[string]screen.Form {
	return map[string]screen.Form{
		"backlog.kinds":   {May: screen.Both(hasAssumptions, screen.Answering(state.StageBacklog)), Fill: drawKinds, Submit: submitKinds}, // the page in screen.Args.N, from 0
		"backlog.test":    {May: screen.Both(hasAssumptions, mayPlan), Fill: drawIdeas, Submit: submitIdeas},                              // the ideas for screen.Args.Assumption
		"backlog.own":     {May: screen.Both(hasAssumptions, mayPlan), Fill: drawNewTest, Submit: submitNewTest},
		"backlog.guide":   {May: screen.MayTakePart, Fill: howProposed}, // of the method screen.Args.Choice, or of test screen.Args.N
		"backlog.plan":    {May: screen.Both(hasTest, mayPlan), Fill: plannedTest, Submit: submitPlanned},
		"backlog.counted": {May: screen.Both(hasTest, screen.MayTakePart), Fill: howCounted},
		"backlog.list":    {Fill: listTests},
		"backlog.edit":    {May: screen.Both(hasTest, mayPlan), Fill: changedTest, Submit: submitChangedTest}, // test screen.Args.N, to be about screen.Args.Assumption where one was chosen
	}
}

// hasAssumptions refuses to plan for a list that is empty.
func hasAssumptions(p screen.Page) error {
	if len(p.Kickoff.Order()) == 0 {
		return screen.Refuse("There is no assumption, so there is nothing to test. A lead can go back to the list of assumptions.")
	}
	return nil
}

// mayPlan lets people plan tests underway as well.
func mayPlan(p screen.Page) error {
	if p.Kickoff.Stage == state.StageUnderway {
		return screen.MayTakePart(p)
	}
	return screen.MayAnswer(p, state.StageBacklog)
}

// Actions are the buttons of planning tests that need no form, by name.
var Actions = map[string]screen.Action{
	"foresight.say": sayForesight,
	"backlog.done": func(p screen.Page) (flows.Intent, string) {
		return flows.Finish{By: screen.By(p), Stage: state.StageBacklog}, "Thank you. While the step is open, you can change your tests."
	},
}

// Asks asks for the kinds of risk and for tests.
func Asks(p screen.Page) (screen.Asking, error) {
	args := screen.StageArgs(p, state.StageBacklog)
	return screen.Asking{
		Ask:     "For what comes first: say what kind of risk it is, and plan how to test it.",
		Why:     "Fix the pass mark now, before anybody knows the result.",
		Minutes: 10,
		Body:    soFar(p.Kickoff),
		Buttons: []*slack.ButtonBlockElement{
			screen.Button("Add a Test", "open/backlog.test", args), screen.Button("Name the Risks", "open/backlog.kinds", args),
			screen.Button("See the Tests", "open/backlog.list", args), screen.Button("That Is All", "do/backlog.done", args)},
	}, nil
}

// soFar counts what comes first, and how much of it has a test by now.
func soFar(k state.Kickoff) []slack.Block {
	first, tested := k.InZone(engine.TestFirst), 0
	for _, id := range first {
		tested += min(len(k.TestsOf(id)), 1)
	}
	switch {
	case len(k.Order()) == 0:
		return []slack.Block{block.Text("There is no assumption, so there is nothing to test. Press That Is All.")}
	case len(first) == 0:
		return []slack.Block{block.Text("Nothing has to be tested before the rest. Plan a test for whatever you would still like to know.")}
	}
	return []slack.Block{block.Text("%s first; %d of %d have a test.", words.Count(len(first), "assumption comes", "assumptions come"), tested, len(first))}
}

// Result is the plan of tests, in test order.
func Result(p screen.Page) (screen.Posting, error) {
	k := p.Kickoff
	text := words.TestsText(k)
	return screen.Posting{
		Text: screen.Aloud(k, "%s", text),
		Blocks: slices.Concat([]slack.Block{block.Heading("What we test, and how")}, block.Drawn(report.TestsInShort(k)),
			foresightHint(p), []slack.Block{block.Buttons(screen.Button("See the Tests", "open/backlog.list", screen.StageArgs(p, state.StageBacklog)))}),
	}, nil
}

// kindOptions are the risk kinds, each with the question it asks.
var kindOptions = []block.Option{
	{Value: string(state.Desirability), Text: "Desirability: do people want it?"},
	{Value: string(state.Viability), Text: "Viability: does it pay, is it allowed?"},
	{Value: string(state.Feasibility), Text: "Feasibility: can we make it work?"},
	{Value: string(state.Usability), Text: "Usability: can people use it?"},
}

// kindPages divides the assumptions, in test order, into pages that may
// answer one another.
func kindPages(p screen.Page) [][]string {
	return block.PagesOf(p.Kickoff.Order(), screen.MostFields, block.AnswerBytes, func(id string) int {
		var f block.Form
		kindEntry(&f, p, id, state.Desirability)
		return block.Size(f.Blocks...)
	})
}

func kindEntry(f *block.Form, p screen.Page, id string, kind state.Kind) {
	a, _ := p.Kickoff.Assumption(id)
	f.Select("kind/"+id, words.Clip(id+": "+a.Text, 150), string(kind), kindOptions, block.Optional)
}

func drawKinds(p screen.Page, f *block.Form) flows.Intent {
	pages := kindPages(p)
	at, submit := screen.PageAt(p, len(pages), "Save")
	f.Title, f.Submit = "Name the risks", submit
	f.Add(block.Text("What kind of risk is each? The kind with most votes decides which methods we look at; a tie is shown as a tie. Leave out what you cannot judge."))
	for _, id := range pages[at] {
		kindEntry(f, p, id, p.Kickoff.Backlog.Kinds[id][p.Viewer])
	}
	return nil
}

func submitKinds(p screen.Page, v block.Values) (screen.Answer, error) {
	kinds := map[string]state.Kind{}
	for _, b := range v.Blocks("kind/") {
		if choice := v.Choice(b); choice != "" {
			kinds[strings.TrimPrefix(b, "kind/")] = state.Kind(choice)
		}
	}
	answer := screen.Answer{Intents: []flows.Intent{flows.VoteKinds{By: screen.By(p), Kinds: kinds}}}
	if p.Args.N < len(kindPages(p))-1 {
		p.Args.N++
		answer.Next = screen.Redrawn(Forms(), "backlog.kinds", p)
	}
	return answer, nil
}

// The forms in which tests are planned and changed.

// testEntries are the fields of a test of t.Assumption.
func testEntries(f *block.Form, t state.Test) state.Plan {
	effort := screen.FigureOf(t.EffortDays)
	if t.N > 0 && effort == "" {
		effort = "0" // it was said to be none, not left out
	}
	number := func(field, entry string) float64 {
		if entry == "" {
			return 0
		}
		return screen.Decimal(f, field, entry, "Please give a number, such as 2.5.")
	}
	plan := state.Plan{
		Assumption: t.Assumption,
		Method:     screen.TitleEntry(f, "method", "Method", t.Method),
		Learn:      f.Text("learn", "What we learn", t.Learn, block.Optional, block.Hint("What would you have to see or hear?")),
	}
	markEntries(f, t, &plan)
	size := number("size", f.Figure("size", "How many people or cases", screen.FigureOf(t.Size), "0", "1000000", block.Optional))
	if plan.Size = int(size); float64(plan.Size) != size {
		f.Fault("size", "Please give a whole number.")
	}
	plan.EffortDays = number("effort", f.Decimal("effort", "Work, in person-days", effort))
	plan.LeadDays = number("lead", f.Decimal("lead", "Working days to wait before it", screen.FigureOf(t.LeadDays), block.Optional))
	plan.Owner = f.Person("owner", "Owner", t.Owner, block.Optional)
	plan.Care = careEntry(f, t)
	return plan
}

// careEntry asks whether more is to be minded than with any test.
func careEntry(f *block.Form, t state.Test) bool {
	const care = "care"
	var stood []string
	if t.Care {
		stood = []string{care}
	}
	return len(f.Ticks(care, "Care", stood, []block.Option{{Value: care, Text: "It touches " + guide.Care}}, block.Optional)) > 0
}

// assumptionOptions are the assumptions in test order; a list holds 100.
func assumptionOptions(k state.Kickoff) []block.Option {
	var options []block.Option
	for _, id := range words.FirstOf(k.Order(), 100) {
		options = append(options, AssumptionOption(k, id))
	}
	return options
}

// AssumptionOption is an assumption in a menu.
func AssumptionOption(k state.Kickoff, id string) block.Option {
	a, _ := k.Assumption(id)
	return block.Option{Value: id, Text: id + " · " + a.Text}
}

// listTests lists all tests, with a button on those that the viewer may
// change.
func listTests(p screen.Page, f *block.Form) flows.Intent {
	k, args, open := p.Kickoff, screen.StageArgs(p, state.StageBacklog), mayPlan(p) == nil
	f.Title = "The tests"
	tests, order := slices.DeleteFunc(slices.Clone(k.Backlog.Tests), func(t state.Test) bool { return t.Withdrawn }), k.Order()
	slices.SortStableFunc(tests, func(a, b state.Test) int {
		return cmp.Compare(slices.Index(order, a.Assumption), slices.Index(order, b.Assumption))
	})
	f.Add(block.Rows(tests, screen.MostEntries, func(t state.Test) ([]block.Run, *slack.ButtonBlockElement) {
		a, _ := k.Assumption(t.Assumption)
		runs := append([]block.Run{block.Bold("%s ", t.Assumption), block.Typed(a.Text, 120), block.Plain("\n")}, block.Runs(report.TestText(k, t))...)
		if text := words.PlanText(t.Planned()); text != "" {
			runs = append(runs, block.Plain("\n%s", text))
		}
		if !open || t.By != p.Viewer && t.Owner != p.Viewer && !k.IsLead(p.Viewer) { // as flows decides
			return runs, nil
		}
		args.N = t.N
		return runs, screen.Button("Change", "open/backlog.edit", args)
	})...)
	if len(tests) == 0 {
		f.Add(block.Text("No test has been planned yet. Press Add a Test in the channel to plan the first one."))
	}
	return nil
}

func hasTest(p screen.Page) error {
	if _, ok := p.Kickoff.Test(p.Args.N); !ok {
		return screen.Refuse("That test is not on the list any more.")
	}
	return nil
}

// changedTest changes test Args.N. Where its pass mark is fixed only the rest of it
// is asked for; underway it may be put off, or dropped with a word why.
func changedTest(p screen.Page, f *block.Form) flows.Intent {
	t, _ := p.Kickoff.Test(p.Args.N)
	f.Title, f.Submit = "Change a test", "Save"
	if p.Kickoff.Stage == state.StageUnderway {
		return movedTest(p, f, t)
	}
	if slices.Contains(p.Kickoff.Order(), p.Args.Assumption) {
		t.Assumption = p.Args.Assumption
	}
	a, _ := p.Kickoff.Assumption(t.Assumption)
	f.Add(block.Para(block.Bold("%s ", t.Assumption), block.Typed(a.Text, 120)))
	plan := testEntries(f, t)
	f.Add(block.Picker("turn/backlog.edit", "Another assumption", OtherAssumptions(p)))
	off := f.Tick("withdraw", "Take it off", "withdraw", "Take this test off the list")
	f.Add(block.Buttons(withPeople(p, t)))
	if off {
		f.Faults = nil // of what is taken off, nothing else is read
		return flows.WithdrawTest{By: screen.By(p), N: p.Args.N}
	}
	return flows.EditTest{By: screen.By(p), N: p.Args.N, Plan: plan}
}

func movedTest(p screen.Page, f *block.Form, t state.Test) flows.Intent {
	plan := state.PlanOf(t)
	f.Add(block.Para(block.Bold("%s ", t.Assumption), block.Plain("Counts as support: %s. That stays: it was fixed before anybody looked.", words.PassMark(t))))
	plan.Method = screen.TitleEntry(f, "method", "Method", t.Method)
	plan.Learn = f.Text("learn", "What we learn", t.Learn, block.Optional)
	plan.Owner = f.Person("owner", "Owner", t.Owner, block.Optional)
	plan.Care = careEntry(f, t)
	plan.NotBefore = f.Day("not_before", "Put it off to", t.NotBefore, block.Optional)
	why := f.Text("why", "Drop it, because …", "", block.Optional, block.OneLine, block.Longest(flows.MaxSentence),
		block.Hint("Only if nobody will do it. What it has found so far stays, and everybody sees why."))
	if why != "" {
		f.Faults = nil
		return flows.DropTest{By: screen.By(p), N: t.N, Why: why}
	}
	return flows.EditTest{By: screen.By(p), N: t.N, Plan: plan}
}

// submitChangedTest saves the change, and shows what its results will count as.
func submitChangedTest(p screen.Page, v block.Values) (screen.Answer, error) {
	f := block.Read(v)
	intent := changedTest(p, f)
	if faults := faultsOf(p, f, intent); len(faults) > 0 {
		return screen.Answer{Errors: faults}, nil
	}
	answer := screen.Answer{Intents: []flows.Intent{intent}}
	edit, ok := intent.(flows.EditTest)
	t, _ := p.Kickoff.Test(p.Args.N)
	if ok && (p.Kickoff.Stage != state.StageUnderway || edit.Plan.Care && !t.Care) {
		answer.Next = planned(p, edit.Plan)
	}
	return answer, nil
}
