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

// What people expect of a test before anybody knows: one choice a test, below the
// plan of tests until the time box begins. From then on check-ins ask.

// mostForesight is how many tests are asked about at once, those that come first;
// the others are asked about later.
const mostForesight = 9

// foresightAsks asks below the plan of tests what people expect of each.
func foresightAsks(p screen.Page) []slack.Block {
	tests := flows.ToForesee(&p.Kickoff)
	if len(tests) == 0 || p.Kickoff.Stage == state.StageUnderway {
		return nil
	}
	blocks := []slack.Block{block.Para(block.Bold("What do you expect of each test? "),
		block.Plain("Choose now, before anybody knows. Nobody sees who said what; what the group expected is laid beside the result."))}
	for _, t := range words.FirstOf(tests, mostForesight) {
		blocks = append(blocks, block.Asks(foresightName(t), "do/foresight.say", words.ForesightAsk(t), foresightChoices(p, t)))
	}
	if len(tests) > mostForesight {
		blocks = append(blocks, block.Note("The others are asked about at the check-ins."))
	}
	return blocks
}

func foresightName(t state.Test) string {
	return t.Assumption + " " + words.Clip(words.OneLine(t.Method), 100)
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
