package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/engine"
	"soundings/flows"
)

// summaryMessage is the root of the summary: what somebody needs who opens
// the channel in a week and reads one message. It is pinned and kept current;
// the parts stand in its thread.
func summaryMessage(p Page, _ string) (Posting, error) {
	k := p.Kickoff
	blocks := append(summaryBlocks(p), note("The parts are in the thread: problem, roles, map, tests, time box, questions, actions, and files to keep."))
	if k.Stage == flows.StageUnderway {
		blocks = append(blocks, buttons(button("Add an Action", "open/close.action", stageArgs(p, flows.StageClose))))
	}
	return Posting{
		Text:   escape(fmt.Sprintf("%s: the summary of the kickoff. ", clip(k.Brief.Title, 80))) + escape(clip(standing(p), 400)) + " The parts are in the thread.",
		Blocks: blocks,
	}, nil
}

// summaryBlocks is the root without what belongs to its place in a channel.
func summaryBlocks(p Page) []slack.Block {
	k := p.Kickoff
	blocks := []slack.Block{
		heading(clip(k.Brief.Title, 150)),
		quoted(typed(k.Problem(), 900)),
		para(bold("Level: "), plain("%s. ", levelText(settledLevel(k))), bold("Led by "), typed(leadName(k), 60), plain(".")),
	}
	if k.Timebox.Weeks > 0 {
		blocks = append(blocks, para(append([]word{bold("Time box: ")}, boxWords(k)...)...))
	}
	if m := k.Map(); m != nil {
		blocks = append(blocks, para(bold("To test first: "), plain("%s", firstText(*m))))
	}
	return append(blocks, para(bold("How far we are: "), plain("%s", standing(p))))
}

// standing says in a few sentences how the discovery stands.
func standing(p Page) string {
	k := p.Kickoff
	switch {
	case k.Timebox.Starts.IsZero():
		return "The time box begins when the summary is posted."
	case k.Stage == flows.StageEnded:
		return fmt.Sprintf("It has ended. The decision: %s. %s", choiceText(k.Underway.Decision.Set, k.Underway.Decision.Weeks), foundText(k))
	}
	progress := k.Progress(p.Now)
	return testedText(progress) + " " + foundText(k) + " " + daysLeftText(progress) + " " + confidenceText(progress)
}

// foundText says what became of what was tested: "Held: A3, A1. Fell: A2."
func foundText(k flows.Kickoff) string {
	var parts []string
	for _, kind := range []struct {
		name    string
		verdict engine.Verdict
	}{{"Held", engine.Supported}, {"Fell", engine.Refuted}, {"Not clear yet", engine.NotClear}} {
		var ids []string
		for _, id := range k.Order() {
			if k.VerdictOf(id) == kind.verdict {
				ids = append(ids, id)
			}
		}
		if len(ids) > 0 {
			parts = append(parts, fmt.Sprintf("%s: %s.", kind.name, listed(ids, 6)))
		}
	}
	if len(parts) == 0 {
		return "No test has a result yet."
	}
	return strings.Join(parts, " ")
}

// testedText: "2 of 6 assumptions to test first have a result (33%)."
func testedText(p flows.Progress) string {
	switch {
	case p.TestFirst == 0:
		return "Nothing had to be tested first."
	case p.TestFirst == 1:
		return fmt.Sprintf("%d of 1 assumption to test first has a result.", p.Tested)
	}
	return fmt.Sprintf("%d of %d assumptions to test first have a result (%.0f%%).", p.Tested, p.TestFirst, 100*float64(p.Share()))
}

func daysLeftText(p flows.Progress) string {
	switch {
	case p.Over:
		return "The time box is over."
	case p.DaysLeft == 0:
		return "The time box ends today."
	}
	return fmt.Sprintf("%s left.", count(p.DaysLeft, "day is", "days are"))
}

func confidenceText(p flows.Progress) string {
	if !p.Confidence.Defined() {
		return "How confident we are is known once a check-in has closed."
	}
	return fmt.Sprintf("Confidence is %s of 9 (median of %s).", number(p.Confidence), count(p.Voters, "vote", "votes"))
}

// settledLevel is the level at which the discovery works.
func settledLevel(k flows.Kickoff) int {
	if k.Framing.Settled {
		return k.Framing.AtLevel
	}
	return k.Framing.Level.Level
}

// levelText names a rung of the ladder: "+1, broader than the brief".
func levelText(level int) string {
	switch {
	case level >= 2:
		return "+2, much broader than the brief"
	case level == 1:
		return "+1, broader than the brief"
	case level == 0:
		return "0, as in the brief"
	case level == -1:
		return "-1, narrower than the brief"
	}
	return "-2, much narrower than the brief"
}

// partMessage is one part of the summary, in the thread of its root.
func partMessage(p Page, part string) (Posting, error) {
	draw, ok := map[string]func(flows.Kickoff) (title string, blocks []slack.Block){
		"problem": problemPart, "roles": rolesPart, "map": mapPart, "backlog": backlogPart,
		"timebox": timeboxPart, "questions": questionsPart, "actions": actionsPart,
	}[part]
	if !ok {
		return Posting{}, fmt.Errorf("a summary has no part %q", part)
	}
	title, blocks := draw(p.Kickoff)
	return Posting{
		Text:   escape(fmt.Sprintf("%s. %s: %s", clip(p.Kickoff.Brief.Title, 80), title, gist(blocks))),
		Blocks: append(append([]slack.Block{heading(title)}, leadBlocks(p.Kickoff, part)...), blocks...),
	}, nil
}

// gist is the beginning of what blocks say, in one line: who has a message
// read aloud, or sees it on a lock screen, gets its top-level text alone.
func gist(blocks []slack.Block) string {
	var sentences []string
	for line := range strings.Lines(plainBlocks(blocks)) {
		line = strings.TrimSpace(strings.TrimLeft(line, "•> "))
		if line != "" && !strings.ContainsAny(line[len(line)-1:], ".:;?!") {
			line += "."
		}
		sentences = append(sentences, line)
	}
	return contained(clip(strings.Join(strings.Fields(strings.Join(sentences, " ")), " "), 280))
}
