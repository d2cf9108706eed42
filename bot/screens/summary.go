package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/plaintext"
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
	for line := range strings.Lines(plaintext.Blocks(blocks)) {
		line = strings.TrimSpace(strings.TrimLeft(line, "•> "))
		if line != "" && !strings.ContainsAny(line[len(line)-1:], ".:;?!") {
			line += "."
		}
		sentences = append(sentences, line)
	}
	return contained(clip(strings.Join(strings.Fields(strings.Join(sentences, " ")), " "), 280))
}
