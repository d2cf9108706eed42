package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
)

func backlogForms() map[string]Form {
	return map[string]Form{
		"backlog.kinds": {Open: openKinds, Submit: submitKinds},
		"backlog.test":  {Open: openNewTest, Submit: submitNewTest},
		"backlog.list":  {Open: openTests, Submit: nothingToSubmit},
		"backlog.edit":  {Open: openTest, Submit: submitTest},
	}
}

func backlogDeeds() map[string]deed {
	return map[string]deed{
		"backlog.done": func(p Page) (flows.Intent, string) {
			return flows.Finish{By: by(p), Stage: flows.StageBacklog}, "Thank you. You can still change your tests until the stage closes."
		},
	}
}

// backlogMessage asks for the kinds of risk and for tests.
func backlogMessage(p Page) (Posting, error) {
	args := stageArgs(p, flows.StageBacklog)
	return asking{
		stage:   flows.StageBacklog,
		title:   stageName(flows.StageBacklog),
		ask:     "For what comes first: say what kind of risk it is, and plan how to test it.",
		why:     "Fix the pass mark now: the result that will count as support. Once the results are in, nobody can argue about it any more.",
		minutes: 10,
		body:    backlogSoFar(p.Kickoff),
		buttons: []*slack.ButtonBlockElement{
			button("Add a Test", "open/backlog.test", args), button("Name the Risks", "open/backlog.kinds", args),
			button("See the Tests", "open/backlog.list", args), button("I Am Done", "do/backlog.done", args)},
	}.posting(p), nil
}

// backlogSoFar lists what comes first, with the tests it has by now.
func backlogSoFar(k flows.Kickoff) []slack.Block {
	first := k.InZone(engine.TestFirst)
	if len(first) == 0 {
		return []slack.Block{para(plain("Nothing has to be tested before the rest. Plan a test for whatever you would still like to know."))}
	}
	var items [][]word
	for _, id := range firstOf(first, 15) {
		a, _ := k.Assumption(id)
		items = append(items, append([]word{bold("%s ", id), typed(a.Text, 120), plain("\n")}, testsInShort(k, id)...))
	}
	return withMore(items, len(first))
}

func testsInShort(k flows.Kickoff, id string) []word {
	tests := k.TestsOf(id)
	switch len(tests) {
	case 0:
		return []word{italic("No test yet.")}
	case 1:
		return []word{plain("Test: "), typed(tests[0].Method, 80)}
	}
	return []word{plain("%d tests: ", len(tests)), typed(tests[0].Method, 80), plain(" …")}
}

// backlogResult is the plan of tests, in test order.
func backlogResult(p Page) (Posting, error) {
	k := p.Kickoff
	text := testsText(k)
	blocks := append([]slack.Block{heading("What we test, and how"), para(plain("%s", text))}, testList(k)...)
	return Posting{
		Text:   escape(fmt.Sprintf("%s: %s", clip(k.Brief.Title, 80), text)),
		Blocks: append(blocks, note(guide.Caution)),
	}, nil
}

// mostTests is how many tests a message spells out.
const mostTests = 16

// testList spells out the tests in test order, each under its assumption.
func testList(k flows.Kickoff) []slack.Block {
	var blocks []slack.Block
	shown, all := 0, 0
	for _, id := range k.Order() {
		tests := k.TestsOf(id)
		all += len(tests)
		tests = firstOf(tests, mostTests-shown)
		if len(tests) == 0 || len(blocks) >= 2*mostTests {
			continue
		}
		items := make([][]word, len(tests))
		for i, t := range tests {
			items[i] = testWords(k, t)
		}
		shown += len(tests)
		blocks = append(blocks, para(testedWords(k, id)...), bullets(items...))
	}
	if all > shown {
		blocks = append(blocks, para(plain("And %d more tests. They all stand in the files of the summary.", all-shown)))
	}
	return blocks
}

// testedWords: "A3 Deckhands can count … (feasibility)".
func testedWords(k flows.Kickoff, id string) []word {
	a, _ := k.Assumption(id)
	words := []word{bold("%s ", id), typed(a.Text, 120)}
	if kinds := k.Backlog.KindsOf(id); len(kinds) > 1 {
		return append(words, plain(" (a tie: %s)", kindText(k, id)))
	} else if len(kinds) == 1 {
		return append(words, plain(" (%s)", kinds[0]))
	}
	return append(words, plain(" (nobody named the risk)"))
}

// testWords is one test in full.
func testWords(k flows.Kickoff, t flows.Test) []word {
	words := []word{boldTyped(t.Method, 100)}
	if t.Learn != "" {
		words = append(words, plain(". We learn: "), typed(t.Learn, 140))
	}
	words = append(words, plain("\nCounts as support: %s. ", passMark(t)))
	return append(words, plain("Owner: "), ownerWord(k, t), plain(". %s.", effortText(t)))
}

func ownerWord(k flows.Kickoff, t flows.Test) word {
	if t.Owner == "" {
		return plain("nobody yet")
	}
	return typed(k.Name(t.Owner), 40)
}

// kindOptions are the risk kinds, each with the question it asks.
func kindOptions() []option {
	return []option{
		{Value: string(flows.Desirability), Text: "Desirability: do people want it?"},
		{Value: string(flows.Viability), Text: "Viability: does it pay, is it allowed?"},
		{Value: string(flows.Feasibility), Text: "Feasibility: can we make it work?"},
		{Value: string(flows.Usability), Text: "Usability: can people use it?"},
	}
}

// kindPages divides the assumptions, in test order, into pages that may
// answer one another.
func kindPages(p Page) [][]string {
	return paged(p.Kickoff.Order(), func(id string) int { return jsonSize([]slack.Block{kindInput(p, id, flows.Desirability)}) })
}

func kindInput(p Page, id string, kind flows.Kind) slack.Block {
	a, _ := p.Kickoff.Assumption(id)
	return selectInput("kind/"+id, clip(id+": "+a.Text, 150), string(kind), kindOptions(), optional)
}

// openKinds is a page of kinds; which one is Args.N, from 0.
func openKinds(p Page) (slack.ModalViewRequest, error) {
	return kindsPage(p), mayAnswer(p, flows.StageBacklog)
}

func kindsPage(p Page) slack.ModalViewRequest {
	pages := kindPages(p)
	at := min(max(p.Args.N, 0), len(pages)-1)
	submit := "Next Page"
	if at == len(pages)-1 {
		submit = "Save"
	}
	blocks := []slack.Block{para(plain("What kind of risk is each? The kind with most votes decides which methods we look at; a tie is shown as a tie. Leave out what you cannot judge."))}
	for _, id := range pages[at] {
		blocks = append(blocks, kindInput(p, id, p.Kickoff.Backlog.Kinds[id][p.Viewer]))
	}
	return form("Name the risks", submit, blocks...)
}

func submitKinds(p Page, v Values) (Answer, error) {
	kinds := map[string]flows.Kind{}
	for _, block := range v.Blocks("kind/") {
		if choice := v.Choice(block); choice != "" {
			kinds[strings.TrimPrefix(block, "kind/")] = flows.Kind(choice)
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

func nothingToSubmit(Page, Values) (Answer, error) { return Answer{}, nil }
