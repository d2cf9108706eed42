package report

import (
	"fmt"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
)

// testsBlocks is the plan of tests.
func testsBlocks(k flows.Kickoff, f form) []Block {
	if f == inThread {
		return Tests(k)
	}
	untested, planned := words.Untested(k), testsInOrder(k)
	blocks := []Block{Para(say("No test has been planned yet."))}
	if len(planned) > 0 && f == onCanvas {
		blocks = []Block{list(planned, 60, func(t flows.Test) Text {
			return say("%s: **%s** Counts as support: %s. Owner: %s. %s.", t.Assumption, sentence(f.typed(t.Method, 0, 160)), words.PassMark(t),
				f.owner(k, t, "nobody yet"), words.SentenceCase(words.EffortText(t)))
		})}
	} else if len(planned) > 0 {
		blocks = []Block{testTable(k, planned)}
	}
	if len(untested) > 0 {
		blocks = append(blocks, Para(say("Still without a test, though they come first: %s.", words.Listed(untested, f.of(0, 30)))))
	}
	if len(planned) > 0 && f == inFile {
		blocks = append(blocks, Para(say("%s", guide.Caution)))
	}
	return blocks
}

// testsInOrder are the tests in the order of what they test.
func testsInOrder(k flows.Kickoff) []flows.Test {
	var out []flows.Test
	for _, id := range k.Order() {
		out = append(out, k.TestsOf(id)...)
	}
	return out
}

// Tests spells out the tests in test order, each under its assumption, as they
// stand in a thread.
func Tests(k flows.Kickoff) []Block {
	const most = 16
	blocks := []Block{Para(say("%s", words.TestsText(k)))}
	left := len(testsInOrder(k))
	shown := 0
	for _, id := range k.Order() {
		tests := list(k.TestsOf(id), most-shown, func(t flows.Test) Text { return TestText(k, t) })
		if len(tests.Items) == 0 {
			continue
		}
		shown += len(tests.Items)
		blocks = append(blocks, Para(testedText(k, id)), List{Items: tests.Items})
	}
	if left -= shown; left > 0 {
		blocks = append(blocks, Para(say("And %d more tests. They all stand in the files of the summary.", left)))
	}
	return append(blocks, Note(guide.Caution))
}

// testedText: "A3 Deckhands can count … (feasibility)".
func testedText(k flows.Kickoff, id string) Text {
	a, _ := k.Assumption(id)
	kind := words.KindText(k, id)
	switch len(k.Backlog.KindsOf(id)) {
	case 0:
		kind = "nobody named the risk"
	case 1:
	default:
		kind = "a tie: " + kind
	}
	return say("**%s** %s (%s)", id, inThread.typed(a.Text, 120, 0), kind)
}

// TestText is one test in full, as it stands in a thread.
func TestText(k flows.Kickoff, t flows.Test) Text {
	text := say("**%s**", inThread.typed(t.Method, 100, 0))
	if t.Learn != "" {
		text = say("%s. We learn: %s", text, inThread.typed(t.Learn, 140, 0))
	}
	return say("%s\nCounts as support: %s. Owner: %s. %s.", text, words.PassMark(t), inThread.owner(k, t, "nobody yet"), words.EffortText(t))
}

func (f form) owner(k flows.Kickoff, t flows.Test, none string) Text {
	if t.Owner == "" {
		return say(none)
	}
	return f.name(k.Name(t.Owner))
}

func testTable(k flows.Kickoff, tests []flows.Test) Table {
	table := Table{{say("Assumption"), say("Risk"), say("Test"), say("What we learn"), say("Counts as support"), say("Owner"), say("Effort")}}
	for _, t := range tests {
		table = append(table, []Text{say("%s", t.Assumption), say("%s", words.KindText(k, t.Assumption)), inFile.typed(t.Method, 0, 0), inFile.typed(t.Learn, 0, 0),
			say("%s", passText(t)), inFile.owner(k, t, "no owner yet"), say("%s", words.EffortText(t))})
	}
	return table
}

// passText is words.PassMark for the column of a table.
func passText(t flows.Test) string {
	size := ""
	if t.Size > 0 {
		size = fmt.Sprintf(" of %d", t.Size)
	}
	if t.PassShare == 0 {
		return "no pass mark yet" + size
	}
	return fmt.Sprintf("at least %s %%%s", words.Number(engine.Figure(t.PassShare*100)), size)
}

func testsGist(k flows.Kickoff) string {
	tests, alone := 0, 0
	for _, t := range k.Backlog.Tests {
		if t.Withdrawn {
			continue
		}
		if tests++; t.Owner == "" {
			alone++
		}
	}
	if alone == 0 {
		return words.Count(tests, "test", "tests")
	}
	return fmt.Sprintf("%s, %d without an owner", words.Count(tests, "test", "tests"), alone)
}
