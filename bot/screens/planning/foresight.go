package planning

import (
	"strconv"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/lists"
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

// mostForeseen is how many tests are asked about where other things wait as well; the next
// ones come once these are answered.
const mostForeseen = 2

// ForesightLeft asks the viewer, where they are by themselves, about the first tests of
// which they have said nothing yet: one tap each.
func ForesightLeft(p screen.Page) []slack.Block {
	left := lists.Keep(flows.ToForesee(&p.Kickoff), func(t state.Test) bool { return !lists.Has(p.Kickoff.Foresight[t.N].Said, p.Viewer) })
	if len(left) == 0 {
		return nil
	}
	blocks := []slack.Block{block.Para(block.Bold("What do you expect? "), block.Plain("Before anybody knows. Nobody sees who said what."))}
	for _, t := range words.FirstOf(left, mostForeseen) {
		blocks = append(blocks, block.Asks(foresightName(p.Kickoff, t), "do/foresight.say", words.ForesightAsk(t), foresightChoices(p, t)))
	}
	return blocks
}

// foresightName is what a test is about, and the test: few know beliefs by their ids.
func foresightName(k state.Kickoff, t state.Test) string {
	a, _ := k.Assumption(t.Assumption)
	return t.Assumption + " " + words.Clip(words.OneLine(a.Text), 140) + "\nTest: " + words.Clip(words.OneLine(t.Method), 100)
}

// foresightChoices are the answers as a message has them: each says what it is about.
func foresightChoices(p screen.Page, t state.Test) []block.Option {
	options := screen.ForesightOptions(t)
	args := screen.Args{Kickoff: p.Kickoff.ID, Stage: string(state.StageBacklog), N: t.N, Home: p.Args.Home}
	for i := range options {
		args.Choice = options[i].Value
		options[i].Value = args.String()
	}
	return options
}

// sayForesight takes a choice below the plan, or on a page of the viewer's own. Below the
// plan it thanks once: the list shows what was chosen.
func sayForesight(p screen.Page) (flows.Intent, string) {
	percent, _ := strconv.Atoi(p.Args.Choice)
	again := false
	for _, f := range p.Kickoff.Foresight {
		again = again || lists.Has(f.Said, p.Viewer)
	}
	thanks := "Noted, for nobody else to see."
	switch {
	case p.Args.Home: // which shows the next test by then
	case again:
		thanks = ""
	default:
		thanks += " Choose again if you change your mind."
	}
	return flows.Foresee{By: screen.By(p), Test: p.Args.N, Percent: percent}, thanks
}
