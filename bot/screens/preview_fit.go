package screens

import (
	"fmt"

	"github.com/slack-go/slack"

	"soundings/engine"
	"soundings/flows"
)

// How the preview fits its pages: an answer to a form is bounded by
// answerBytes, of which the ways to go on take a share.
const (
	waysBytes  = 6_000
	shownBytes = answerBytes - waysBytes + pageFrame
)

// fitted splits what would not fit a page: a long list goes on as another one.
func fitted(blocks []slack.Block) []slack.Block {
	const most = shownBytes - pageFrame
	var out []slack.Block
	for _, b := range blocks {
		first, rest, ok := halved(b)
		switch {
		case jsonSize([]slack.Block{b}) <= most:
			out = append(out, b)
		case ok:
			out = append(out, fitted([]slack.Block{first, rest})...)
		default:
			out = append(out, note("Here stands a text that is too long to be shown in this form. In the thread it is whole."))
		}
	}
	return out
}

// halved divides rich text between its paragraphs, or between the items of its
// list.
func halved(b slack.Block) (first, rest slack.Block, ok bool) {
	text, ok := b.(*slack.RichTextBlock)
	if !ok {
		return nil, nil, false
	}
	if half := len(text.Elements) / 2; half > 0 {
		return slack.NewRichTextBlock("", text.Elements[:half]...), slack.NewRichTextBlock("", text.Elements[half:]...), true
	}
	if len(text.Elements) == 0 {
		return nil, nil, false
	}
	list, ok := text.Elements[0].(itemList)
	if !ok || len(list.Elements) < 2 {
		return nil, nil, false
	}
	part := func(items []slack.RichTextElement) slack.Block {
		return slack.NewRichTextBlock("", itemList{slack.NewRichTextList(list.Style, list.Indent, items...)})
	}
	half := len(list.Elements) / 2
	return part(list.Elements[:half]), part(list.Elements[half:]), true
}

// partTitle is what a part of the summary is called.
func partTitle(part string) string {
	return map[string]string{
		"problem": "The problem", "roles": "Who does what", "map": "What we assume", "backlog": "What we test, and how",
		"timebox": "The time box", "questions": "Questions", "actions": "Who does what next",
	}[part]
}

// partGist is a part in a few words.
func partGist(k flows.Kickoff, part string) string {
	switch part {
	case "problem":
		return fmt.Sprintf("%s on the ladder; we work at %s", count(len(k.Framing.Wordings)+1, "wording", "wordings"), rung(settledLevel(k)))
	case "roles":
		if k.Roles.Skipped {
			return "Left out of this kickoff"
		}
		r := rolesOf(k)
		return fmt.Sprintf("%d core, %d consulted, %d informed", len(r.Core), len(r.Consulted), len(r.Informed))
	case "map":
		return fmt.Sprintf("%s, %d to test first", count(len(k.Order()), "assumption", "assumptions"), len(k.InZone(engine.TestFirst)))
	case "backlog":
		return testsGist(k)
	case "timebox":
		return fmt.Sprintf("%s, with a check-in each %s", weeksText(k.Timebox.Weeks), k.Timebox.Checkin)
	case "questions":
		open := len(k.Brief.OpenQuestions())
		return fmt.Sprintf("%d open, %d answered", open, len(k.Brief.Questions)-open)
	}
	if n := len(k.StandingActions()); n > 0 {
		return count(n, "action", "actions")
	}
	return "No action yet"
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
		return count(tests, "test", "tests")
	}
	return fmt.Sprintf("%s, %d without an owner", count(tests, "test", "tests"), alone)
}
