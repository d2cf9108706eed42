package screen

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// An Asking is what the message of an open stage says: what to do, why it
// matters, how long it takes. When it closes and who has finished is added.
type Asking struct {
	Title   string // in place of the stage's own
	Heading string // in place of the title, over the message while it is open
	Ask     string // what to do, one sentence of ours
	Why     string // why it matters, a sentence of ours; may be empty
	Minutes int    // how long it takes
	Body    []slack.Block
	Buttons []*slack.ButtonBlockElement // the first is the one most people want
	Pickers []slack.Block               // in place of buttons, where each choice is a whole answer
	Neutral bool                        // the buttons are answers: none is put forward
	Note    string                      // in place of how many have finished
	Next    string                      // what comes after it, a word or two
	Chosen  []block.Run                 // what people chose, while it waits for the lead's last word
	Closed  string                      // in place of how it closed, a sentence of ours
	Stays   []slack.Block               // what stands below once it has closed
}

// Posting draws the message of a stage: all of it while answers are taken,
// and one line with the outcome after that. A message may be drawn again at
// any later time, so its window is looked up, not taken to be the open one.
func (a Asking) Posting(p Page) Posting {
	w, ok := WindowOf(p.Kickoff, state.Stage(p.Args.Stage), p.Args.Round)
	top := cmp.Or(a.Heading, a.Title)
	switch {
	case !ok:
		out := Line(p, a.Title, notOpenText(p.Kickoff, state.Stage(p.Args.Stage)))
		out.Blocks[0] = block.Heading(top)
		out.Blocks = append(out.Blocks, a.Stays...)
		return out
	case !TakesAnswers(p.Kickoff, w) && a.Closed != "":
		return Line(p, a.Title, a.Closed)
	case !TakesAnswers(p.Kickoff, w):
		return Posting{
			Text:   Aloud(p.Kickoff, "%s has closed. %s", a.Title, ProgressLine(p.Kickoff, w)),
			Blocks: slices.Concat([]slack.Block{block.Heading(top), block.Para(outcomeLine(p.Kickoff, w)...)}, a.settling(p, w), a.Stays),
		}
	}
	blocks := append([]slack.Block{block.Heading(top), block.Note(a.placeLine(p.Kickoff)), block.Para(block.Bold("%s", a.Ask))}, a.Body...)
	if a.Why != "" {
		blocks = slices.Insert(blocks, 3, block.Text("%s", a.Why))
	}
	if p.Kickoff.Emptied[string(w.Stage)] > 0 && w.Round <= 1 {
		blocks = append(blocks, block.Text("This was open before. What was given then was counted, and nobody can tell any more whose it was, so please answer again."))
	}
	blocks = append(blocks,
		block.Para(block.Plain("Closes "), block.When(w.Closes), block.Plain(" your time; you can change your answers until then.")))
	if len(a.Buttons) > 0 {
		if !a.Neutral {
			block.Primary(a.Buttons[0])
		}
		blocks = append(blocks, block.Buttons(a.Buttons...))
	}
	blocks = append(blocks, a.Pickers...)
	return Posting{
		Text: Aloud(p.Kickoff, "%s About %s. ", a.Ask, MinutesText(a.Minutes)) +
			"Closes " + block.WhenText(w.Closes) + ".",
		Blocks: append(blocks, block.Note(cmp.Or(a.Note, ProgressLine(p.Kickoff, w)))),
	}
}

const leftOutText = "The lead left this step out."

// notOpenText says what becomes of a stage that was open, and is no more, though it never
// closed: the lead went back from it, or took up another one.
func notOpenText(k state.Kickoff, s state.Stage) string {
	switch {
	case k.Stage == state.StageEnded:
		return "The kickoff ended before this step came again."
	case k.LeavesOut(s):
		return leftOutText
	}
	return "This step opens again later."
}

// placeLine says where in the kickoff this is: "Step 4 of 8 · about 5 minutes ·
// next: rating".
func (a Asking) placeLine(k state.Kickoff) string {
	return fmt.Sprintf("Step %s · about %s · next: %s", Position(k), MinutesText(a.Minutes), a.Next)
}

// settling says who settles what people chose, and by when, while that is open.
func (a Asking) settling(p Page, w state.Window) []slack.Block {
	if w.Phase != state.PhaseSettling {
		return nil
	}
	var blocks []slack.Block
	if len(a.Chosen) > 0 {
		blocks = append(blocks, block.Para(append([]block.Run{block.Bold("What people chose: ")}, a.Chosen...)...))
	}
	return append(blocks, block.Para(block.Typed(words.LeadName(p.Kickoff), 60), block.Plain(" settles it by "), block.When(w.Until), block.Plain(" your time. Next: %s.", a.Next)))
}

// MinutesText is a number of minutes in words.
func MinutesText(n int) string { return words.Count(n, "minute", "minutes") }

// A Settling is what waits for a lead's last word. It stands in a message to
// them, and in short on their home tab.
type Settling struct {
	Title   string
	Over    string    // why nothing waits, a sentence; then all below is empty
	Ask     string    // what to do, for the top-level text
	Without string    // what happens without the lead, up to the moment in until
	Until   time.Time // when that happens
	Body    []slack.Block

	Home []block.Run // on the home tab, after the kickoff's title; empty where it shows nothing
	Acts []*slack.ButtonBlockElement
}

// Done is a settling for which nothing waits any more.
func (s Settling) Done(why string) (Settling, error) {
	s.Over = why
	return s, nil
}

// Posting is the private message in which the lead settles a stage.
func (s Settling) Posting(p Page) Posting {
	if s.Over != "" {
		return Line(p, s.Title, s.Over)
	}
	return Posting{
		Text:   Aloud(p.Kickoff, "%s %s ", s.Ask, s.Without) + block.WhenText(s.Until) + ".",
		Blocks: append([]slack.Block{block.Heading(s.Title)}, s.Body...),
	}
}

// SettlingIn reports whether a stage waits to be settled, and until when.
func SettlingIn(k state.Kickoff, s state.Stage) (until time.Time, waits bool) {
	w, ok := WindowOf(k, s, 0)
	return w.Until, ok && w.Phase == state.PhaseSettling
}

// Aloud is what is read aloud of a message, or shown on a lock screen: the
// kickoff's title and a sentence, made safe.
func Aloud(k state.Kickoff, format string, args ...any) string {
	return block.Escape(words.Clip(k.Brief.Title, 80) + ": " + fmt.Sprintf(format, args...))
}

// Line is a message of one sentence under a heading.
func Line(p Page, title, sentence string) Posting {
	return Posting{
		Text:   block.Escape(words.Clip(p.Kickoff.Brief.Title, 80) + ". " + FullStop(title) + " " + sentence),
		Blocks: []slack.Block{block.Heading(title), block.Text("%s", sentence)},
	}
}

// FullStop puts a full stop where a text ends without a mark of its own.
func FullStop(text string) string {
	if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") || strings.HasSuffix(text, "!") {
		return text
	}
	return text + "."
}

// WindowOf finds the newest window of a stage, or of one round of rating.
func WindowOf(k state.Kickoff, s state.Stage, round int) (state.Window, bool) {
	if k.Window.Stage == s && k.Window.Round == round {
		return k.Window, true
	}
	for i := len(k.Past) - 1; i >= 0; i-- {
		if w := k.Past[i]; w.Stage == s && w.Round == round {
			return w, true
		}
	}
	return state.Window{}, false
}

// TakesAnswers reports whether w is the window that is open now.
func TakesAnswers(k state.Kickoff, w state.Window) bool {
	return k.Window.Stage == w.Stage && k.Window.Round == w.Round && k.Window.Phase == state.PhaseOpen
}

// ProgressLine says how many have finished: never who, so that nobody is
// shamed in front of the channel.
func ProgressLine(k state.Kickoff, w state.Window) string {
	switch open := TakesAnswers(k, w); {
	case OneIsAsked(w) && open && w.Finished() == 0:
		return "One person is asked, and has not finished yet."
	case OneIsAsked(w) && !open && flows.Heard(&k, w) == 0:
		return "One person was asked, and did not answer."
	case OneIsAsked(w):
		return "One person was asked, and has answered."
	case open:
		return fmt.Sprintf("%d of %d have finished.", w.Finished(), len(w.Asked))
	}
	return fmt.Sprintf("%d of %d answered.", flows.Heard(&k, w), len(w.Asked))
}

// OneIsAsked reports whether a step asks one person alone, mostly the lead: shares of
// those asked say nothing there.
func OneIsAsked(w state.Window) bool { return len(w.Asked) == 1 }

// outcomeLine is what is left of a stage's request once it has closed.
func outcomeLine(k state.Kickoff, w state.Window) []block.Run {
	if w.Why == state.ClosedSkipped {
		return []block.Run{block.Plain(leftOutText)}
	}
	runs := []block.Run{block.Plain("Closed "), block.When(w.Closed), block.Plain("%s. %s", closeReason(k, w), ProgressLine(k, w))}
	if w.Thin && !OneIsAsked(w) {
		runs = append(runs, block.Plain(" Fewer than half answered, so take the result with care."))
	}
	return runs
}

func closeReason(k state.Kickoff, w state.Window) string {
	if w.Why == state.ClosedAbandoned && k.CalledOff.Why != "" {
		return ", when the kickoff was called off"
	}
	switch w.Why {
	case state.ClosedComplete:
		return ", once everyone had finished"
	case state.ClosedByLead:
		return " by the lead"
	case state.ClosedAbandoned:
		return ", when the kickoff was left"
	}
	return ", when its time was up"
}

// Position is the place of the present stage among those before the discovery
// is underway, but for those that the kickoff leaves out: "2 of 8". What is no step of
// its own belongs to the one before it.
func Position(k state.Kickoff) string {
	all, at := flows.StagesOf(&k), 0
	for _, s := range all {
		if !Before(k.Stage, s) {
			at++
		}
	}
	return fmt.Sprintf("%d of %d", at, len(all))
}
