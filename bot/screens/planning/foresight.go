package planning

import (
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// What people expect of a test before anybody knows: one choice a test, in the thread
// of the plan until the first check-in, so that everybody can say it with one tap, and not
// only those who check in. From then on check-ins ask.

// mostForesight is how many tests are asked about at once, those that come first;
// the others are asked about later.
const mostForesight = 9

// asksForesight lists the tests of which the thread of the plan asks what people expect.
func asksForesight(p screen.Page) []state.Test {
	if len(p.Kickoff.Underway.Checkins) > 0 {
		return nil
	}
	return flows.ToForesee(&p.Kickoff)
}

// foresightHint points from the plan to its thread.
func foresightHint(p screen.Page) []slack.Block {
	if len(asksForesight(p)) == 0 {
		return nil
	}
	return []slack.Block{block.Text("In the thread: say what you expect of each test, before anybody knows.")}
}

// ForesightMessage asks what people expect of each test.
func ForesightMessage(p screen.Page, _ string) (screen.Posting, error) {
	const title = "What do you expect?"
	tests := asksForesight(p)
	switch {
	case len(p.Kickoff.Underway.Checkins) > 0:
		return screen.Line(p, title, "The check-ins ask from now on."), nil
	case len(tests) == 0:
		return screen.Line(p, title, "There is no test to ask about."), nil
	}
	blocks := []slack.Block{block.Heading(title), block.Para(block.Bold("Of each test, before anybody knows. "),
		block.Plain("Nobody sees who said what. What the group expected is laid beside the result."))}
	for _, t := range words.FirstOf(tests, mostForesight) {
		blocks = append(blocks, block.Asks(foresightName(p.Kickoff, t), "do/foresight.say", words.ForesightAsk(t), foresightChoices(p, t)))
	}
	if len(tests) > mostForesight {
		blocks = append(blocks, block.Note("The others are asked about at the check-ins."))
	}
	return screen.Posting{Text: screen.Aloud(p.Kickoff, "what do you expect of each test, before anybody knows? About 1 minute."), Blocks: blocks}, nil
}

// foresightName is what a test is about, and the test: few know beliefs by their ids.
func foresightName(k state.Kickoff, t state.Test) string {
	a, _ := k.Assumption(t.Assumption)
	return t.Assumption + " " + words.Clip(words.OneLine(a.Text), 140) + "\nTest: " + words.Clip(words.OneLine(t.Method), 100)
}

// foresightChoices are the answers as a message has them: each says what it is about.
func foresightChoices(p screen.Page, t state.Test) []block.Option {
	options := screen.ForesightOptions(t)
	args := screen.Args{Kickoff: p.Kickoff.ID, Stage: string(state.StageBacklog), N: t.N}
	for i := range options {
		args.Choice = options[i].Value
		options[i].Value = args.String()
	}
	return options
}

// sayForesight takes a choice below the plan. It thanks once: the list shows what was chosen.
func sayForesight(p screen.Page) (flows.Intent, string) {
	thanks := "Noted, for nobody else to see. Choose again if you change your mind."
	for _, f := range p.Kickoff.Foresight {
		if _, said := f.Said[p.Viewer]; said {
			thanks = ""
		}
	}
	percent, _ := strconv.Atoi(p.Args.Choice)
	return flows.Foresee{By: screen.By(p), Test: p.Args.N, Percent: percent}, thanks
}
