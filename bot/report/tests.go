package report

import (
	"fmt"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
	"soundings/flows/state"
	"soundings/flows/views"
)

// Tests spells out the tests in test order, each under its assumption, as they
// stand in a thread.
func Tests(k state.Kickoff) []Block {
	const most = 16
	blocks := []Block{para("%s", words.TestsText(k))}
	left, shown := 0, 0
	for _, id := range k.Order() {
		left += len(k.TestsOf(id))
		tests := list(k.TestsOf(id), most-shown, func(t state.Test) Text { return TestText(k, t) })
		if len(tests.Items) == 0 {
			continue
		}
		shown += len(tests.Items)
		blocks = append(blocks, Para(testedText(k, id)), List{Items: tests.Items})
	}
	if left -= shown; left > 0 {
		blocks = append(blocks, para("And %d more tests. They all stand in the files of the summary.", left))
	}
	for _, t := range k.Backlog.Tests {
		if t.Dropped != "" {
			blocks = append(blocks, Para(say("**%s** dropped: %s. %s", t.Assumption, clip(t.Method, 100), clip(t.Dropped, flows.MaxSentence))))
		}
	}
	return append(blocks, Note(guide.CautionFor(words.NeedsCare(k))))
}

// TestsInShort are the tests of what comes first, as they stand in the channel.
func TestsInShort(k state.Kickoff) []Block {
	blocks := []Block{para("%s", words.TestsText(k))}
	if first := k.InZone(engine.TestFirst); len(first) > 0 {
		blocks = append(blocks, firstInWords(k, len(first))...)
	}
	if len(k.Backlog.Tests) == 0 {
		return blocks
	}
	return append(blocks, Note("Before you involve people, ask for their consent, and keep little about them."))
}

// testedText: "A3 Deckhands can count … (feasibility)".
func testedText(k state.Kickoff, id string) Text {
	a, _ := k.Assumption(id)
	kind := words.KindText(k, id)
	switch len(views.KindsOf(k.Backlog, id)) {
	case 0:
		kind = "nobody named the risk"
	case 1:
	default:
		kind = "a tie: " + kind
	}
	return say("**%s** %s (%s)", id, clip(a.Text, 120), kind)
}

// TestText is one test in full, as it stands in a thread.
func TestText(k state.Kickoff, t state.Test) Text {
	text := say("**%s**", clip(t.Method, 100))
	if t.Learn != "" {
		text = say("%s. We learn: %s", text, clip(t.Learn, 140))
	}
	owner := say("nobody yet")
	if t.Owner != "" {
		owner = name(k.Name(t.Owner))
	}
	text = say("%s\nCounts as support: %s. Owner: %s. %s.", text, words.PassMark(t), owner, words.EffortText(t))
	if t.Care {
		text = say("%s It touches %s: it begins only after a yes of those in charge.", text, guide.Care)
	}
	return text
}

func testsGist(k state.Kickoff) string {
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
