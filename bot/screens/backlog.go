package screens

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
)

func backlogForms() map[string]Form {
	return map[string]Form{
		"backlog.kinds": {May: answering(flows.StageBacklog), Open: openKinds, Submit: submitKinds},
		"backlog.test":  {May: answering(flows.StageBacklog), Open: openNewTest, Submit: submitNewTest},
		"backlog.list":  {Open: openTests},
		"backlog.edit":  {Open: openTest, Submit: submitTest},
	}
}

func backlogActions() map[string]action {
	return map[string]action{
		"backlog.done": func(p Page) (flows.Intent, string) {
			return flows.Finish{By: by(p), Stage: flows.StageBacklog}, "Thank you. You can still change your tests until the stage closes."
		},
	}
}

// backlogAsks asks for the kinds of risk and for tests.
func backlogAsks(p Page) (asking, error) {
	args := stageArgs(p, flows.StageBacklog)
	return asking{
		ask:     "For what comes first: say what kind of risk it is, and plan how to test it.",
		why:     "Fix the pass mark now: the result that will count as support. Once the results are in, nobody can argue about it any more.",
		minutes: 10,
		body:    backlogSoFar(p.Kickoff),
		buttons: []*slack.ButtonBlockElement{
			button("Add a Test", "open/backlog.test", args), button("Name the Risks", "open/backlog.kinds", args),
			button("See the Tests", "open/backlog.list", args), button("I Am Done", "do/backlog.done", args)},
	}, nil
}

func backlogNudge(p Page) nudge {
	return owed(p, "Say which kinds of risk these are and plan a test, or press That Is All.", 5,
		hereButton(p, "Say Which Kind of Risk", "open/backlog.kinds"), hereButton(p, "That Is All", "do/backlog.done"))
}

// backlogSoFar lists what comes first, with the tests it has by now.
func backlogSoFar(k flows.Kickoff) []slack.Block {
	first := k.InZone(engine.TestFirst)
	if len(first) == 0 {
		return []slack.Block{block.Text("Nothing has to be tested before the rest. Plan a test for whatever you would still like to know.")}
	}
	return block.List(first, 15, func(id string) []block.Run {
		a, _ := k.Assumption(id)
		return append([]block.Run{block.Bold("%s ", id), block.Typed(a.Text, 120), block.Plain("\n")}, testsInShort(k, id)...)
	})
}

func testsInShort(k flows.Kickoff, id string) []block.Run {
	tests := k.TestsOf(id)
	switch len(tests) {
	case 0:
		return []block.Run{block.Italic("No test yet.")}
	case 1:
		return []block.Run{block.Plain("Test: "), block.Typed(tests[0].Method, 80)}
	}
	return []block.Run{block.Plain("%d tests: ", len(tests)), block.Typed(tests[0].Method, 80), block.Plain(" …")}
}

// backlogResult is the plan of tests, in test order.
func backlogResult(p Page) (Posting, error) {
	k := p.Kickoff
	text := words.TestsText(k)
	return Posting{
		Text:   aloud(k, "%s", text),
		Blocks: append([]slack.Block{block.Heading("What we test, and how")}, drawn(report.Tests(k))...),
	}, nil
}

// kindOptions are the risk kinds, each with the question it asks.
func kindOptions() []block.Option {
	return []block.Option{
		{Value: string(flows.Desirability), Text: "Desirability: do people want it?"},
		{Value: string(flows.Viability), Text: "Viability: does it pay, is it allowed?"},
		{Value: string(flows.Feasibility), Text: "Feasibility: can we make it work?"},
		{Value: string(flows.Usability), Text: "Usability: can people use it?"},
	}
}

// kindPages divides the assumptions, in test order, into pages that may
// answer one another.
func kindPages(p Page) [][]string {
	return block.Pages(p.Kickoff.Order(), block.AnswerBytes, func(id string) int { return block.Size(kindInput(p, id, flows.Desirability)) })
}

func kindInput(p Page, id string, kind flows.Kind) slack.Block {
	a, _ := p.Kickoff.Assumption(id)
	return selectInput("kind/"+id, words.Clip(id+": "+a.Text, 150), string(kind), kindOptions(), block.Optional)
}

// openKinds is a page of kinds; which one is Args.N, from 0.
func openKinds(p Page) (slack.ModalViewRequest, error) {
	return kindsPage(p), nil
}

func kindsPage(p Page) slack.ModalViewRequest {
	pages := kindPages(p)
	at, submit := pageAt(p, len(pages), "Save")
	blocks := []slack.Block{block.Text("What kind of risk is each? The kind with most votes decides which methods we look at; a tie is shown as a tie. Leave out what you cannot judge.")}
	for _, id := range pages[at] {
		blocks = append(blocks, kindInput(p, id, p.Kickoff.Backlog.Kinds[id][p.Viewer]))
	}
	return form("Name the risks", submit, blocks...)
}

func submitKinds(p Page, v block.Values) (Answer, error) {
	kinds := map[string]flows.Kind{}
	for _, b := range v.Blocks("kind/") {
		if choice := v.Choice(b); choice != "" {
			kinds[strings.TrimPrefix(b, "kind/")] = flows.Kind(choice)
		}
	}
	answer := Answer{Intents: []flows.Intent{flows.VoteKinds{By: by(p), Kinds: kinds}}}
	if p.Args.N < len(kindPages(p))-1 {
		p.Args.N++
		next := seal("backlog.kinds", p, kindsPage(p))
		answer.Next = &next
	}
	return answer, nil
}

// The forms in which tests are planned and changed.

// openNewTest plans a test of Args.Assumption, or where none is named of the
// first that has no test.
func openNewTest(p Page) (slack.ModalViewRequest, error) {
	id := guidedBy(p)
	inputs := testInputs(assumptionOptions(p.Kickoff), flows.Test{Assumption: id}, block.Optional,
		block.Hint("For ideas on another assumption, choose it above, leave this empty and press Add Test."))
	return form("Plan a test", "Add Test", guided(p.Kickoff, id, inputs)...), nil
}

// guidedForm is the form for one assumption only. It answers a form, and a
// hundred assumptions would not fit into an answer.
func guidedForm(p Page) slack.ModalViewRequest {
	only := []block.Option{assumptionOption(p.Kickoff, p.Args.Assumption)}
	return form("Plan a test", "Add Test", guided(p.Kickoff, p.Args.Assumption, testInputs(only, flows.Test{Assumption: p.Args.Assumption}))...)
}

// guidedBy is the assumption whose methods the form shows.
func guidedBy(p Page) string {
	order := p.Kickoff.Order()
	if slices.Contains(order, p.Args.Assumption) {
		return p.Args.Assumption
	}
	if open := words.Untested(p.Kickoff); len(open) > 0 {
		return open[0]
	}
	if len(order) > 0 {
		return order[0]
	}
	return ""
}

// submitNewTest adds the test; with no method, and another assumption than
// the form was opened for, it shows that one's methods instead.
func submitNewTest(p Page, v block.Values) (Answer, error) {
	plan, faults := readPlan(v)
	if plan.Method == "" && plan.Assumption != guidedBy(p) {
		p.Args.Assumption = plan.Assumption
		next := seal("backlog.test", p, guidedForm(p))
		return Answer{Next: &next}, nil
	}
	if len(faults) > 0 {
		return Answer{Errors: faults}, nil
	}
	return wants(flows.AddTest{By: by(p), Plan: plan})
}

// guided puts inputs between the methods that suit an assumption's kinds of
// risk, or where nobody has named one a method of each, and the small print.
func guided(k flows.Kickoff, id string, inputs []slack.Block) []slack.Block {
	a, _ := k.Assumption(id)
	kind := words.KindText(k, id)
	if kind == "" {
		kind = "nobody has named the risk yet, so here is one idea for each kind"
	}
	var items [][]block.Run
	var sources []string
	for _, m := range methodsFor(k.Backlog.KindsOf(id)) {
		items = append(items, methodWords(m))
		if size, ok := m.Sample.For(0); ok && !slices.Contains(sources, size.Source) {
			sources = append(sources, size.Source)
		}
	}
	blocks := append([]slack.Block{block.Para(block.Bold("Ideas for %s ", id), block.Typed(a.Text, 200), block.Plain(" (%s)", kind)), block.Bullets(items...)}, inputs...)
	return append(blocks, block.Note(guide.Caution),
		block.Note("Days are what is usual (common practice). Numbers of people or cases: "+strings.Join(sources, "; ")+"."))
}

// mostMethods bounds the guide of an assumption with several kinds of risk.
const mostMethods = 14

func methodsFor(kinds []flows.Kind) []guide.Method {
	if len(kinds) == 0 {
		var some []guide.Method
		for _, kind := range flows.Kinds() {
			some = append(some, guide.Methods(string(kind))[0])
		}
		return some
	}
	var all []guide.Method
	for _, kind := range kinds {
		for _, m := range guide.Methods(string(kind)) {
			if !slices.ContainsFunc(all, func(o guide.Method) bool { return o.Name == m.Name }) {
				all = append(all, m)
			}
		}
	}
	return words.FirstOf(all, mostMethods)
}

func methodWords(m guide.Method) []block.Run {
	text := fmt.Sprintf(" (%s of work", words.Days(m.EffortDays))
	if m.LeadDays > 0 {
		text += fmt.Sprintf(", %s to wait", words.Days(m.LeadDays))
	}
	text += ") tells " + m.Tells + " It cannot tell " + m.CannotTell
	if size, ok := m.Sample.For(0); ok {
		text += fmt.Sprintf(" Take %d %s: %s.", size.N, m.Sample.Unit, m.Sample.Buys)
	}
	return []block.Run{block.Bold("%s", m.Name), block.Plain("%s", text)}
}

// testInputs are the fields of a test.
func testInputs(assumptions []block.Option, t flows.Test, method ...block.Setting) []slack.Block {
	effort := decimalOf(t.EffortDays)
	if t.N > 0 && effort == "" {
		effort = "0" // it was said to be none, not left out
	}
	return []slack.Block{
		selectInput("assumption", "Assumption", t.Assumption, assumptions),
		textInput("method", "Method", t.Method, false, flows.MaxTitle, method...),
		textInput("learn", "What we learn", t.Learn, true, flows.MaxText, block.Optional),
		numberInput("pass", "Pass mark, in %", percentOf(t.PassShare), true, "0", "100", block.Optional,
			block.Hint("The share of people or cases that will count as support. Fix it before you look.")),
		numberInput("size", "How many people or cases", wholeOf(t.Size), false, "0", "1000000", block.Optional),
		numberInput("effort", "Work, in person-days", effort, true, "0", "60"),
		numberInput("lead", "Waiting before the work can begin, in working days", decimalOf(t.LeadDays), true, "0", "60", block.Optional),
		personInput("owner", "Owner", t.Owner, block.Optional),
	}
}

// assumptionOptions are the assumptions in test order; a list holds 100.
func assumptionOptions(k flows.Kickoff) []block.Option {
	var options []block.Option
	for _, id := range words.FirstOf(k.Order(), 100) {
		options = append(options, assumptionOption(k, id))
	}
	return options
}

func assumptionOption(k flows.Kickoff, id string) block.Option {
	a, _ := k.Assumption(id)
	return block.Option{Value: id, Text: id + " · " + a.Text}
}

func percentOf(share float64) string {
	if share == 0 {
		return ""
	}
	return words.Number(engine.Figure(share * 100))
}

func wholeOf(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func decimalOf(x float64) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// readPlan reads the fields of a test; faults name those that are no number.
func readPlan(v block.Values) (plan flows.Plan, faults map[string]string) {
	faults = map[string]string{}
	decimal := func(field string) float64 {
		x, ok := v.Decimal(field)
		if !ok && v.Text(field) != "" {
			faults[field] = "Please give a number, such as 2.5."
		}
		return x
	}
	plan = flows.Plan{
		Assumption: v.Choice("assumption"), Method: v.Text("method"), Learn: v.Text("learn"),
		PassShare: decimal("pass") / 100, EffortDays: decimal("effort"), LeadDays: decimal("lead"), Owner: v.Person("owner"),
	}
	size := decimal("size")
	if plan.Size = int(size); float64(plan.Size) != size {
		faults["size"] = "Please give a whole number."
	}
	return plan, faults
}

// openTests lists all tests, with a button on those that the viewer may
// change.
func openTests(p Page) (slack.ModalViewRequest, error) {
	k, args := p.Kickoff, stageArgs(p, flows.StageBacklog)
	tests := slices.DeleteFunc(slices.Clone(k.Backlog.Tests), func(t flows.Test) bool { return t.Withdrawn })
	blocks := block.Rows(tests, mostEntries, func(t flows.Test) ([]block.Run, *slack.ButtonBlockElement) {
		runs := append([]block.Run{block.Plain("%d. %s: ", t.N, t.Assumption)}, richText(report.TestText(k, t))...)
		if !mayChangeTest(k, t, p.Viewer) {
			return runs, nil
		}
		args.N = t.N
		return runs, button("Change", "open/backlog.edit", args)
	})
	if len(tests) == 0 {
		blocks = append(blocks, block.Text("No test has been planned yet. Press Add a Test in the channel to plan the first one."))
	}
	return form("The tests", "", blocks...), nil
}

// mayChangeTest mirrors whom flows will let change a test, so that nobody is
// offered a button in vain; flows decides.
func mayChangeTest(k flows.Kickoff, t flows.Test, who flows.UserID) bool {
	return takesAnswers(k, flows.Window{Stage: flows.StageBacklog}) && (t.By == who || t.Owner == who || k.IsLead(who))
}

// openTest changes test Args.N.
func openTest(p Page) (slack.ModalViewRequest, error) {
	t, ok := p.Kickoff.Test(p.Args.N)
	if !ok {
		return slack.ModalViewRequest{}, refusal("That test is not on the list any more.")
	}
	blocks := append(testInputs(assumptionOptions(p.Kickoff), t),
		tickInput("withdraw", "Take it off", nil, []block.Option{{Value: "withdraw", Text: "Take this test off the list"}}, block.Optional))
	return form("Change a test", "Save", append(blocks, block.Note(guide.Caution))...), mayAnswer(p, flows.StageBacklog)
}

func submitTest(p Page, v block.Values) (Answer, error) {
	if len(v.Choices("withdraw")) > 0 {
		return wants(flows.WithdrawTest{By: by(p), N: p.Args.N})
	}
	plan, faults := readPlan(v)
	if len(faults) > 0 {
		return Answer{Errors: faults}, nil
	}
	return wants(flows.EditTest{By: by(p), N: p.Args.N, Plan: plan})
}
