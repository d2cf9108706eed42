package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/plaintext"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/flows"
)

// summaryMessage is the root of the summary. It is pinned and kept current;
// the parts stand in its thread.
func summaryMessage(p Page, _ string) (Posting, error) {
	k := p.Kickoff
	blocks := append(summaryBlocks(p), block.Note("The parts are in the thread: problem, roles, map, tests, time box, questions, actions, and files to keep."))
	if k.Stage == flows.StageUnderway {
		blocks = append(blocks, block.Buttons(button("Add an Action", "open/close.action", stageArgs(p, flows.StageClose))))
	}
	return Posting{
		Text:   block.Escape(fmt.Sprintf("%s: the summary of the kickoff. ", words.Clip(k.Brief.Title, 80))) + block.Escape(words.Clip(report.Standing(k, p.Now), 400)) + " The parts are in the thread.",
		Blocks: blocks,
	}, nil
}

// summaryBlocks is the root without what belongs to its place in a channel.
func summaryBlocks(p Page) []slack.Block { return titled(report.Root(p.Kickoff, p.Now)) }

// titled are the blocks of a part under its title.
func titled(part report.Part) []slack.Block {
	return append([]slack.Block{block.Heading(part.Title)}, append(drawn(part.Above), drawn(part.Blocks)...)...)
}

// partMessage is one part of the summary, in the thread of its root.
func partMessage(p Page, name string) (Posting, error) {
	part, known := report.Thread(p.Kickoff, name)
	if !known {
		return Posting{}, fmt.Errorf("a summary has no part %q", name)
	}
	return Posting{
		Text:   block.Escape(fmt.Sprintf("%s. %s: %s", words.Clip(p.Kickoff.Brief.Title, 80), part.Title, gist(drawn(part.Blocks)))),
		Blocks: titled(part),
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
	return words.Contained(words.Clip(strings.Join(strings.Fields(strings.Join(sentences, " ")), " "), 280))
}
