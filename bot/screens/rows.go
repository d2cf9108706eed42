package screens

import (
	"cmp"
	"fmt"

	"soundings/bot/screens/screen"
	"soundings/flows"
)

// ofStage draws a message out of the row that a slot's argument names, such as
// "rating/2", with its stage and round in the args. "decision/1" is about the
// stage underway, which may come to several decisions.
func ofStage(draw func(stage, screen.Page) (screen.Posting, error)) message {
	return func(p screen.Page, arg string) (screen.Posting, error) {
		name, round := flows.ParseStageArg(arg)
		if name == "decision" {
			name = flows.StageUnderway
		}
		row, ok := stageOf(name)
		if !ok {
			return screen.Posting{}, fmt.Errorf("there is no stage %q", arg)
		}
		p.Args.Stage, p.Args.Round = string(name), round
		return draw(row, p)
	}
}

// askMessage is the one message in which a stage asks for something. Once the
// window has closed it shrinks to a line with the outcome.
func (row stage) askMessage(p screen.Page) (screen.Posting, error) {
	a, err := row.asks(p)
	if err != nil {
		return screen.Posting{}, err
	}
	a.Title = cmp.Or(a.Title, flows.Stage(p.Args.Stage).Title())
	return a.Posting(p), nil
}

// settleMessage is what a lead is asked to confirm or change, or, once settled,
// a line that says so.
func (row stage) settleMessage(p screen.Page) (screen.Posting, error) {
	s, err := row.settles(p)
	if err != nil {
		return screen.Posting{}, err
	}
	return s.Posting(p), nil
}
