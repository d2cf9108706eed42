package screens

import (
	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// callOffControl stands last among what a lead can do, since it cannot be undone.
func callOffControl(p screen.Page) []screen.Control {
	off := screen.Button("Call It Off", "open/lead.call-off", screen.StageArgs(p, p.Kickoff.Stage))
	return []screen.Control{screen.Can(off.WithStyle(slack.StyleDanger), "End the kickoff, and say why.")}
}

// calledOff asks for the reason, and says beforehand what becomes of everything.
func calledOff(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "Call the kickoff off", "Call It Off"
	f.Add(block.Text("The kickoff ends now, for everybody. It cannot be taken up again."),
		block.Sentences([]string{
			"Nothing more is asked of anybody, and no reminder is sent.",
			"What was given stays in the channel, and the files as they are now are put there.",
			"Ratings and votes that were not counted yet are destroyed. Nobody reads them.",
		}))
	why := f.Text("why", "Why is it called off?", "", block.OneLine, block.Longest(flows.MaxSentence), block.Hint("One sentence. Everybody in the channel reads it."))
	return flows.CallOff{ByLead: screen.ByLead(p), Why: why}
}

// calledOffMessage is the one message in which the channel hears that a kickoff was
// called off. The files are in its thread.
func calledOffMessage(p screen.Page, _ string) (screen.Posting, error) {
	k := p.Kickoff
	off := k.CalledOff
	if off.Why == "" {
		return screen.Line(p, "The kickoff", "It was not called off."), nil
	}
	files := "The files, as they were then, are in the thread."
	if flows.Held(&k) {
		files = "Another company reads this channel, so the files are not put here. Whoever runs me can write them out."
	}
	return screen.Posting{
		Text: screen.Aloud(k, "the kickoff is called off. %s", words.Contained(words.Clip(off.Why, 200))),
		Blocks: []slack.Block{
			block.Heading("The kickoff is called off"),
			block.Para(block.BoldTyped(k.Brief.Title, 150), block.Plain(" was called off by "), block.Typed(k.Name(off.By), 60), block.Plain(", "), block.When(off.At), block.Plain(". The reason:")),
			block.Quote(block.Typed(off.Why, flows.MaxSentence)),
			block.Text("Nothing more is asked of anybody. Ratings and votes that were not counted are destroyed, unread. Thank you for what you gave."),
			block.Note(files),
		},
	}, nil
}

// overBeforeSettled reports that a kickoff ended while this stage was open, so that
// nothing of it waits for a lead.
func overBeforeSettled(k state.Kickoff, s state.Stage) bool {
	n := len(k.Past)
	return k.Stage == state.StageEnded && n > 0 && k.Past[n-1].Stage == s && s != state.StageUnderway
}

// calledOffLine is what is left of a lead's desk: when the kickoff was called off, by
// whom, and why.
func calledOffLine(p screen.Page) screen.Posting {
	k := p.Kickoff
	out := screen.Line(p, "Leading", "This kickoff was called off.")
	out.Blocks = append(out.Blocks[:1], block.Para(append(calledOffRuns(k), block.Plain("."))...), block.Quote(block.Typed(k.CalledOff.Why, flows.MaxSentence)))
	return out
}

// calledOffRuns say by whom a kickoff was called off, and when.
func calledOffRuns(k state.Kickoff) []block.Run {
	return []block.Run{block.Plain("Called off by "), block.Typed(k.Name(k.CalledOff.By), 60), block.Plain(" on "), block.Day(k.CalledOff.At)}
}
