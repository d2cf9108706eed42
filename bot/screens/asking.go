package screens

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
)

// ofStage draws a message out of the row that a slot's argument names, such as
// "rating/2", with its stage and round in the args. "decision/1" is about the
// stage underway, which may come to several decisions.
func ofStage(draw func(stage, Page) (Posting, error)) message {
	return func(p Page, arg string) (Posting, error) {
		name, round := flows.ParseStageArg(arg)
		if name == "decision" {
			name = flows.StageUnderway
		}
		row, ok := stageOf(name)
		if !ok {
			return Posting{}, fmt.Errorf("there is no stage %q", arg)
		}
		p.Args.Stage, p.Args.Round = string(name), round
		return draw(row, p)
	}
}

// askMessage is the one message in which a stage asks for something. Once the
// window has closed it shrinks to a line with the outcome.
func (row stage) askMessage(p Page) (Posting, error) {
	a, err := row.asks(p)
	if err != nil {
		return Posting{}, err
	}
	a.title = cmp.Or(a.title, row.title)
	return a.posting(p), nil
}

// settleMessage is what a lead is asked to confirm or change, or, once settled,
// a line that says so.
func (row stage) settleMessage(p Page) (Posting, error) {
	s, err := row.settles(p)
	if err != nil {
		return Posting{}, err
	}
	return s.posting(p), nil
}

// An asking is what the message of an open stage says: what to do, why it
// matters, how long it takes. When it closes and who has finished is added.
type asking struct {
	title   string // in place of the stage's own
	heading string // in place of the title, over the message while it is open
	ask     string // what to do, one sentence of ours
	why     string // why it matters, a sentence or two of ours
	minutes int    // how long it takes
	body    []slack.Block
	buttons []*slack.ButtonBlockElement // the first is the one most people want
	picker  slack.Block                 // in place of buttons, where one choice is the whole answer
	neutral bool                        // the buttons are answers: none is put forward
	note    string                      // in place of how many have finished
	closed  string                      // in place of how it closed, a sentence of ours
	stays   []slack.Block               // what stands below once it has closed
}

// posting draws the message of a stage: all of it while answers are taken,
// and one line with the outcome after that. A message may be drawn again at
// any later time, so its window is looked up, not taken to be the open one.
func (a asking) posting(p Page) Posting {
	w, ok := windowOf(p.Kickoff, flows.Stage(p.Args.Stage), p.Args.Round)
	top := cmp.Or(a.heading, a.title)
	switch {
	case !ok:
		out := line(p, a.title, "This stage will open again.")
		out.Blocks[0] = block.Heading(top)
		out.Blocks = append(out.Blocks, a.stays...)
		return out
	case !takesAnswers(p.Kickoff, w) && a.closed != "":
		return line(p, a.title, a.closed)
	case !takesAnswers(p.Kickoff, w):
		return Posting{
			Text:   aloud(p.Kickoff, "%s has closed. %s", a.title, progressLine(p.Kickoff, w)),
			Blocks: append([]slack.Block{block.Heading(top), block.Para(outcomeLine(p.Kickoff, w)...)}, a.stays...),
		}
	}
	blocks := append([]slack.Block{block.Heading(top), block.Para(block.Bold("%s", a.ask)), block.Text("%s", a.why)}, a.body...)
	if p.Kickoff.Emptied[string(w.Stage)] > 0 && w.Round <= 1 {
		blocks = append(blocks, block.Text("This was open before. What was given then was counted, and nobody can tell any more whose it was, so please answer again."))
	}
	blocks = append(blocks,
		block.Para(block.Plain("About %s. Closes ", minutesText(a.minutes)), block.When(w.Closes), block.Plain(" your time. You can change your answers until then.")))
	if len(a.buttons) > 0 {
		if !a.neutral {
			block.Primary(a.buttons[0])
		}
		blocks = append(blocks, block.Buttons(a.buttons...))
	}
	if a.picker != nil {
		blocks = append(blocks, a.picker)
	}
	return Posting{
		Text: aloud(p.Kickoff, "%s About %s. ", a.ask, minutesText(a.minutes)) +
			"Closes " + block.WhenText(w.Closes) + ".",
		Blocks: append(blocks, block.Note(cmp.Or(a.note, progressLine(p.Kickoff, w)))),
	}
}

func minutesText(n int) string { return words.Count(n, "minute", "minutes") }

// A settling is what waits for a lead's last word. It stands in a message to
// them, and in short on their home tab.
type settling struct {
	title   string
	over    string    // why nothing waits, a sentence; then all below is empty
	ask     string    // what to do, for the top-level text
	without string    // what happens without the lead, up to the moment in until
	until   time.Time // when that happens
	body    []slack.Block

	home []block.Run // on the home tab, after the kickoff's title; empty where it shows nothing
	acts []*slack.ButtonBlockElement
}

// done is a settling for which nothing waits any more.
func (s settling) done(why string) (settling, error) {
	s.over = why
	return s, nil
}

func (s settling) posting(p Page) Posting {
	if s.over != "" {
		return line(p, s.title, s.over)
	}
	return Posting{
		Text:   aloud(p.Kickoff, "%s %s ", s.ask, s.without) + block.WhenText(s.until) + ".",
		Blocks: append([]slack.Block{block.Heading(s.title)}, s.body...),
	}
}

// settlingIn reports whether a stage waits to be settled, and until when.
func settlingIn(k flows.Kickoff, s flows.Stage) (until time.Time, waits bool) {
	w, ok := windowOf(k, s, 0)
	return w.Until, ok && w.Phase == flows.PhaseSettling
}

// aloud is what is read aloud of a message, or shown on a lock screen: the
// kickoff's title and a sentence, made safe.
func aloud(k flows.Kickoff, format string, args ...any) string {
	return block.Escape(words.Clip(k.Brief.Title, 80) + ": " + fmt.Sprintf(format, args...))
}

// line is a message of one sentence under a heading.
func line(p Page, title, sentence string) Posting {
	return Posting{
		Text:   block.Escape(words.Clip(p.Kickoff.Brief.Title, 80) + ". " + ended(title) + " " + sentence),
		Blocks: []slack.Block{block.Heading(title), block.Text("%s", sentence)},
	}
}

// ended puts a full stop where a text ends without a mark of its own.
func ended(text string) string {
	if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") || strings.HasSuffix(text, "!") {
		return text
	}
	return text + "."
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

// progressLine says how many have finished: never who, so that nobody is
// shamed in front of the channel.
func progressLine(k flows.Kickoff, w flows.Window) string {
	if takesAnswers(k, w) {
		return fmt.Sprintf("%d of %d have finished.", w.Finished(), len(w.Asked))
	}
	return fmt.Sprintf("%d of %d answered.", k.Heard(w), len(w.Asked))
}

// outcomeLine is what is left of a stage's request once it has closed.
func outcomeLine(k flows.Kickoff, w flows.Window) []block.Run {
	if w.Why == flows.ClosedSkipped {
		return []block.Run{block.Plain("The lead left this stage out.")}
	}
	runs := []block.Run{block.Plain("Closed "), block.When(w.Closed), block.Plain("%s. %s", closeReason(w), progressLine(k, w))}
	if w.Thin {
		runs = append(runs, block.Plain(" Fewer than half were heard, so lean on the result with care."))
	}
	return runs
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
