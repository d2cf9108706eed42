package screens

import (
	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/planning"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// standingMessage tells somebody who comes later, or comes back, where things stand, in three
// sentences, and what is asked of them now.
func standingMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	title, aloud := "You are in. This is where we are", "you are in."
	if flows.CameBack(arg) {
		title, aloud = "Good to have you back. This is where we are", "good to have you back."
	}
	blocks := []slack.Block{
		block.Heading(title),
		block.Para(block.BoldTyped(k.Brief.Title, 150), block.Plain(": "), block.Typed(words.OneLine(k.Problem()), 300)),
	}
	if m := k.Map(); m != nil {
		if first := words.InZone(*m, engine.TestFirst); len(first) > 0 {
			a, _ := k.Assumption(first[0])
			blocks = append(blocks, block.Para(block.Plain("Most depends on %s: ", a.ID), block.Typed(words.OneLine(a.Text), 200)))
		}
	}
	now := words.SentenceEnd(flows.TitleOf(k.Stage))
	if k.Stage == state.StageUnderway || k.Stage == state.StageEnded {
		now = report.Standing(k, p.Now)
	}
	n, owes := nudgeFor(p)
	foresight := planning.ForesightLeft(p)
	if !owes {
		blocks = append(blocks, block.Para(block.Bold("Now: "), block.Plain("%s Nothing waits for you at the moment.", now)))
		return screen.Posting{Text: screen.Aloud(k, "%s %s", aloud, now), Blocks: append(blocks, foresight...)}, nil
	}
	blocks = append(blocks, block.Para(append([]block.Run{block.Bold("Now: "), block.Plain("%s %s ", now, n.Open)}, n.Closing()...)...))
	if len(n.Acts) > 0 {
		block.Primary(n.Acts[0])
		blocks = append(blocks, block.Buttons(n.Acts...))
	}
	return screen.Posting{Text: screen.Aloud(k, "%s %s %s", aloud, now, n.Open), Blocks: append(blocks, foresight...)}, nil
}
