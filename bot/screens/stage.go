package screens

import (
	"fmt"
	"strings"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// An asking is what the message of an open stage says: what to do, why it
// matters, how long it takes. When it closes and who has finished is added.
type asking struct {
	stage   flows.Stage
	round   int
	title   string // of the message, and of the line that is left after the close
	ask     string // what to do, one sentence of ours
	why     string // why it matters, a sentence or two of ours
	minutes int    // how long it takes
	body    []slack.Block
	buttons []*slack.ButtonBlockElement // the first is the one most people want
	picker  slack.Block                 // in place of buttons, where one choice is the whole answer
	neutral bool                        // the buttons are answers: none is put forward
	note    string                      // in place of how many have finished
}

// posting draws the message of a stage: all of it while answers are taken,
// and one line with the outcome after that. A message may be drawn again at
// any later time, so its window is looked up, not taken to be the open one.
func (a asking) posting(p Page) Posting {
	w, ok := windowOf(p.Kickoff, a.stage, a.round)
	switch {
	case !ok:
		return line(p, a.title, "This stage will open again.")
	case !takesAnswers(p.Kickoff, w):
		return a.closed(p, w)
	}
	blocks := append([]slack.Block{heading(a.title), para(bold("%s", a.ask)), para(plain("%s", a.why))}, a.body...)
	blocks = append(blocks,
		para(plain("About %s. Closes ", count(a.minutes, "minute", "minutes")), when(w.Closes),
			plain(" your time. You can change your answers until then.")))
	if len(a.buttons) > 0 {
		if !a.neutral {
			primary(a.buttons[0])
		}
		blocks = append(blocks, buttons(a.buttons...))
	}
	if a.picker != nil {
		blocks = append(blocks, a.picker)
	}
	small := a.note
	if small == "" {
		small = progressLine(p.Kickoff, w)
	}
	return Posting{
		Text: fmt.Sprintf("%s: %s About %s. Closes %s.", escape(clip(p.Kickoff.Brief.Title, 80)), escape(a.ask),
			count(a.minutes, "minute", "minutes"), whenText(w.Closes)),
		Blocks: append(blocks, note(small)),
	}
}

func (a asking) closed(p Page, w flows.Window) Posting {
	words := outcomeLine(p.Kickoff, w)
	return Posting{
		Text: fmt.Sprintf("%s: %s has closed. %s", escape(clip(p.Kickoff.Brief.Title, 80)), escape(a.title),
			escape(progressLine(p.Kickoff, w))),
		Blocks: []slack.Block{heading(a.title), para(words...)},
	}
}

// line is a message of one sentence under a heading.
func line(p Page, title, sentence string) Posting {
	return Posting{
		Text:   escape(clip(p.Kickoff.Brief.Title, 80) + ". " + ended(title) + " " + sentence),
		Blocks: []slack.Block{heading(title), para(plain("%s", sentence))},
	}
}

// ended puts a full stop where a title ends without a mark of its own.
func ended(title string) string {
	if strings.HasSuffix(title, "?") || strings.HasSuffix(title, "!") {
		return title
	}
	return title + "."
}

// windowOf finds the newest window of a stage, or of one round of rating.
func windowOf(k flows.Kickoff, s flows.Stage, round int) (flows.Window, bool) {
	if k.Window.Stage == s && k.Window.Round == round {
		return k.Window, true
	}
	for i := len(k.Past) - 1; i >= 0; i-- {
		if w := k.Past[i]; w.Stage == s && w.Round == round {
			return w, true
		}
	}
	return flows.Window{}, false
}

// takesAnswers reports whether w is the window that is open now.
func takesAnswers(k flows.Kickoff, w flows.Window) bool {
	return k.Window.Stage == w.Stage && k.Window.Round == w.Round && k.Window.Phase == flows.PhaseOpen
}

// heardIn counts those asked who gave anything at all.
func heardIn(k flows.Kickoff, w flows.Window) int { return k.Heard(w) }

// progressLine says how many have finished: never who, so that nobody is
// shamed in front of the channel.
func progressLine(k flows.Kickoff, w flows.Window) string {
	if takesAnswers(k, w) {
		return fmt.Sprintf("%d of %d have finished.", w.Finished(), len(w.Asked))
	}
	return fmt.Sprintf("%d of %d answered.", heardIn(k, w), len(w.Asked))
}

// outcomeLine is what is left of a stage's request once it has closed.
func outcomeLine(k flows.Kickoff, w flows.Window) []word {
	if w.Why == flows.ClosedSkipped {
		return []word{plain("The lead left this stage out.")}
	}
	words := []word{plain("Closed "), when(w.Closed), plain("%s. %s", closeReason(w), progressLine(k, w))}
	if w.Thin {
		words = append(words, plain(" Fewer than half were heard, so lean on the result with care."))
	}
	return words
}

func closeReason(w flows.Window) string {
	switch w.Why {
	case flows.ClosedComplete:
		return ", once everyone had finished"
	case flows.ClosedByLead:
		return " by the lead"
	case flows.ClosedAbandoned:
		return ", when the kickoff was left"
	}
	return ", when its time was up"
}
