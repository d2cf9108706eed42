package screen

import (
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/flows/state"
)

// A Nudge is one thing that somebody still owes, and the buttons that do it;
// the zero nudge is nothing. A vote among several has no button here: one of
// them alone would be a recommendation.
type Nudge struct {
	Open    string                      // what is open, a sentence
	Minutes int                         // how long it takes; 0 where it is as long as the stage's message says
	Closes  time.Time                   // zero where it does not close
	Acts    []*slack.ButtonBlockElement // may be none; the first is what most people want
	Home    []*slack.ButtonBlockElement // further ones, on the home tab
}

// Closing says when a nudge closes, where it does, after how long it takes.
func (n Nudge) Closing() []block.Run {
	runs := []block.Run{block.Plain("About %s.", MinutesText(n.Minutes))}
	if n.Closes.IsZero() {
		return runs
	}
	return append(runs, block.Plain(" Closes "), block.When(n.Closes), block.Plain(" your time."))
}

// Aloud is what is read aloud of a nudge.
func (n Nudge) Aloud(k state.Kickoff) string {
	text := Aloud(k, "%s About %s.", n.Open, MinutesText(n.Minutes))
	if n.Closes.IsZero() {
		return text
	}
	return text + " Closes " + block.WhenText(n.Closes) + "."
}

// Owed is a nudge of whoever is asked in the open window and has not finished.
func Owed(p Page, open string, acts ...*slack.ButtonBlockElement) Nudge {
	w := p.Kickoff.Window
	if _, done := w.Done[p.Viewer]; done || w.Phase != state.PhaseOpen || !slices.Contains(w.Asked, p.Viewer) {
		return Nudge{}
	}
	return Nudge{Open: open, Closes: w.Closes, Acts: acts}
}

// Owes is the nudge of a stage that is finished with one press or two: what is
// open, and the buttons, each a label and an action.
func Owes(open string, acts ...[2]string) func(Page) Nudge {
	return func(p Page) Nudge {
		var row []*slack.ButtonBlockElement
		for _, act := range acts {
			row = append(row, HereButton(p, act[0], act[1]))
		}
		return Owed(p, open, row...)
	}
}
