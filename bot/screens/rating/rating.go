// Package rating draws ballots and what came of them, and reads filled-in ballots back. Start
// with [Forms]; the row of the stage in package screens names the rest.
package rating

import (
	"fmt"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// secondsPerRating is how long one assumption takes on a phone, both scales
// together (measured by the authors, no source).
const secondsPerRating = 12

// Forms are the forms of the rating, by name.
func Forms() map[string]screen.Form {
	return map[string]screen.Form{
		"rating.ballot":  {May: mayRate, Fill: drawBallot, Submit: turnBallot}, // Args.Round, and the page in Args.N from 0
		"rating.blank":   {May: mayRate, Fill: drawBlank, Submit: endBlank},
		"rating.same":    {May: screen.Both(mayRate, isSame), Fill: drawSame, Submit: endSame}, // what to do is in Args.Choice
		"rating.because": {May: mayRate, Fill: drawBecause, Submit: endBecause},
		"rating.thanks":  {May: mayRate, Fill: drawThanks},
		"rating.deal":    {May: mayDeal, Fill: chosenDeal},
		"rating.reason":  {May: screen.Both(screen.MayTakePart, hasAssumption), Fill: newReason},
	}
}

// Asks asks for ballots: of everything, and in the second round of
// what was split.
func Asks(p screen.Page) (screen.Asking, error) {
	var ids []string
	round := p.Args.Round
	if round >= 1 && round <= len(p.Kickoff.Rounds) {
		ids = p.Kickoff.Rounds[round-1].IDs
	}
	n := len(ids)
	a := screen.Asking{
		Ask:     fmt.Sprintf("Rate %s: how bad would it be to be wrong, and how solid is what we know?", words.Count(n, "assumption", "assumptions")),
		Why:     "It shows what to test first. Everyone rates alone; nothing is shown before the close.",
		Minutes: minutes(n),
		Buttons: []*slack.ButtonBlockElement{screen.Button("Open My Ballot", "open/rating.ballot", Args(p, round, ""))},
	}
	if round > 1 {
		a.Title = "Rate again where we differ"
		a.Ask = fmt.Sprintf("Rate %s again: the first ratings were far apart.", words.Listed(ids, 8))
		a.Why = "Each has a thread in this channel: look there first. What you do not rate again keeps your first rating."
	}
	if isDealt(p.Kickoff) && round > 0 {
		a = dealtAsks(p, a)
	}
	return a, nil
}

// Nudge says how much of a ballot is done.
func Nudge(p screen.Page) screen.Nudge {
	k := p.Kickoff
	if len(k.Rounds) == 0 {
		return screen.Nudge{}
	}
	all, rated := len(state.LatestRound(&k).Share(p.Viewer)), 0
	for _, m := range k.Ballot(k.Window.Round, p.Viewer) {
		if m.Importance != 0 && m.Evidence != 0 {
			rated++
		}
	}
	open := fmt.Sprintf("Rate %s. Your ballot is private, and saved at each choice.", words.Count(all, "assumption", "assumptions"))
	if rated > 0 {
		open = fmt.Sprintf("Your ballot has %d of %s rated. What you have is saved; press Finish on its last page.", rated, words.Count(all, "assumption", "assumptions"))
	}
	n := screen.Owed(p, open, screen.HereButton(p, "Open My Ballot", "open/rating.ballot"))
	n.Minutes = minutes(all - rated) // of what is left
	return n
}

func minutes(n int) int { return max(1, (n*secondsPerRating+59)/60) }

// Args are those of a form about one assumption in a round of rating.
func Args(p screen.Page, round int, id string) screen.Args {
	return screen.Args{Kickoff: p.Kickoff.ID, Stage: string(state.StageRating), Round: round, Assumption: id}
}

// firstInWords is how many assumptions a result tells in words.
const firstInWords = 5

// Result is what a round came to, as far as it has to be known by
// everybody: what comes first, in words.
func Result(p screen.Page) (screen.Posting, error) {
	title, r, counted := roundOf(p)
	if !counted {
		return screen.Line(p, title, "The rating is open again, and this will follow anew."), nil
	}
	k, round := p.Kickoff, p.Args.Round
	if state.Interim(&k, round) {
		return firstSittingResult(p), nil
	}
	blocks := []slack.Block{block.Heading(title), block.Text("%s", ratedText(k, r, round))}
	first := words.InZone(r, engine.TestFirst)
	if len(first) == 0 {
		blocks = append(blocks, block.Text("%s", words.FirstText(r)))
	} else {
		blocks = append(blocks, block.Para(block.Bold("%d of %d come first, in this order:", len(first), len(r.Order))))
		blocks = append(blocks, block.List(words.FirstOf(first, firstInWords), firstInWords, func(id string) []block.Run {
			a, _ := k.Assumption(id)
			return []block.Run{block.Bold("%s ", id), block.Typed(a.Text, 110)}
		})...)
		if then := first[min(firstInWords, len(first)):]; len(then) > 0 {
			blocks = append(blocks, block.Text("Then %s.", words.Listed(then, 8)))
		}
	}
	if text := splitsText(k.Rounds[round-1], round); text != "" {
		blocks = append(blocks, block.Text("%s", text))
	}
	if file := k.Posted[flows.Slot{Screen: flows.ScreenResult, Arg: flows.StageArg(state.StageRating, round)}.Name()].Picture; file != "" {
		blocks = append(blocks, block.Picture(file, report.MapText(k, round)))
	}
	return screen.Posting{
		Text:   screen.Aloud(k, "the rating has closed. %s", words.FirstText(r)),
		Blocks: append(blocks, block.Note("The whole list, with its figures, is in the thread.")),
	}, nil
}

// ListMessage is the map of a round in words, in the thread of its result:
// the list in test order, and how sure it is.
func ListMessage(p screen.Page) (screen.Posting, error) {
	title, r, counted := roundOf(p)
	if !counted {
		return screen.Line(p, title, "The rating is open again, and this will follow anew."), nil
	}
	blocks := append([]slack.Block{block.Heading("The whole list")}, block.Drawn(report.TestOrder(p.Kickoff, r))...)
	if few := words.ThinText(p.Kickoff, state.StageRating); few != "" {
		blocks = append(blocks, block.Note(few))
	}
	return screen.Posting{
		Text: screen.Aloud(p.Kickoff, "the whole list in test order, with its figures."),
		Blocks: slices.Concat(blocks, block.Drawn(report.SidesBlocks(p.Kickoff, p.Kickoff.Rounds[p.Args.Round-1].Sides)),
			becauseBlocks(p.Kickoff, p.Args.Round, r), block.Drawn(report.MapNotes(r))),
	}, nil
}

// How much of what solid evidence rests on a message shows.
const (
	mostTold    = 5
	toldLetters = 200
)

// toldOf is what solid evidence rests on, as a round counted it.
func toldOf(k state.Kickoff, round int) map[string][]string {
	if round < 1 || round > len(k.Rounds) {
		return nil
	}
	return k.Rounds[round-1].Because
}

// becauseBlocks tell what solid evidence rests on, in test order. What was said about a split
// stands in its own thread.
func becauseBlocks(k state.Kickoff, round int, r engine.Result) []slack.Block {
	type reason struct{ id, text string }
	var all []reason
	told := toldOf(k, round)
	for _, id := range r.Order {
		if slices.Contains(k.Rounds[0].Splits, id) {
			continue
		}
		for _, text := range told[id] {
			all = append(all, reason{id, text})
		}
	}
	if len(all) == 0 {
		return nil
	}
	heading := block.Para(block.Bold("Who finds the evidence solid says:"))
	return append([]slack.Block{heading}, block.List(all, 2*mostTold, func(b reason) []block.Run {
		return []block.Run{block.Bold("%s ", b.id), block.Typed(b.text, toldLetters)}
	})...)
}

// roundOf is the result of the round that a page is about, if it was counted.
func roundOf(p screen.Page) (title string, r engine.Result, counted bool) {
	rounds, round := p.Kickoff.Rounds, p.Args.Round
	title = "What to test first"
	if round > 1 && !isDealt(p.Kickoff) {
		title = "What to test first, after the second round"
	}
	if round < 1 || round > len(rounds) || rounds[round-1].Result == nil {
		return title, r, false
	}
	return title, state.WithoutFew(*rounds[round-1].Result), true
}

func ratedText(k state.Kickoff, r engine.Result, round int) string {
	w, _ := screen.WindowOf(k, state.StageRating, round)
	partly := k.Rounds[0].Partly
	text := fmt.Sprintf("%d of %d rated, each alone.", r.Raters-partly, max(len(w.Asked), r.Raters))
	if partly > 0 {
		text = fmt.Sprintf("%d of %d rated at least half of their ballot, each alone, and %d less than half.", r.Raters-partly, max(len(w.Asked), r.Raters), partly)
	}
	switch {
	case round > 1 && isDealt(k):
		text = fmt.Sprintf("%d of %d rated what could come first; the rest stands as those rated it who had it in their share.", flows.Heard(&k, w), len(w.Asked))
	case round > 1:
		text = fmt.Sprintf("%d of %d rated again what was split.", flows.Heard(&k, w), len(w.Asked))
	}
	if out := words.NotRatingText(k); out != "" {
		text += " " + out
	}
	if w.Thin {
		text += " Fewer than half answered, so take the result with care."
	}
	return text
}

func splitsText(r state.Round, round int) string {
	switch {
	case len(r.Splits) == 0 && round > 1:
		return "Nothing is split any more."
	case len(r.Splits) == 0:
		return ""
	case round > 1:
		return fmt.Sprintf("Still split: %s. A talk is noted for the lead.", words.Listed(r.Splits, 8))
	}
	return fmt.Sprintf("Split: %s. Each has a thread here: say what others may not know.", words.Listed(r.Splits, 8))
}

// SplitMessage opens the talk about one split assumption.
func SplitMessage(p screen.Page, id string) (screen.Posting, error) {
	k := p.Kickoff
	a, ok := k.Assumption(id)
	if !ok {
		return screen.Posting{}, fmt.Errorf("there is no assumption %q", id)
	}
	blocks := []slack.Block{block.Heading("We see " + id + " differently"), block.Quote(block.Typed(a.Text, 600))}
	if a.Because != "" {
		blocks = append(blocks, block.Para(block.Italic("Because: "), block.Typed(a.Because, 400)))
	}
	if told := toldOf(k, 1)[id]; len(told) > 0 {
		blocks = append(blocks, block.Para(block.Bold("Who finds the evidence solid says:")))
		blocks = append(blocks, block.List(told, mostTold, func(text string) []block.Run {
			return []block.Run{block.Typed(text, toldLetters)}
		})...)
	}
	blocks = append(blocks,
		block.Para(block.Bold("What do you know that others may not?"), block.Plain(" Reply in this thread, or give a reason without your name.")),
		block.Buttons(block.Primary(screen.Button("Say Why", "open/rating.reason", Args(p, 1, id)))))
	for _, text := range splitCounts(k, id) { // reasons before figures
		blocks = append(blocks, block.Note(text))
	}
	return screen.Posting{
		Text: block.Escape(fmt.Sprintf("%s is split: %s What do you know that others may not? Reply in the thread, or press Say Why to stay unnamed.",
			id, words.Clip(a.Text, 140))),
		Blocks: blocks,
	}, nil
}

// splitCounts tells, for each scale on which the first round was split, how
// many rated low, in the middle and high. Thirds show the camps, and nobody's
// ballot; with few ratings even these would.
func splitCounts(k state.Kickoff, id string) []string {
	if len(k.Rounds) == 0 || k.Rounds[0].Result == nil {
		return nil
	}
	camps := state.CampsOf(k.Rounds[0], id)
	var out []string
	for _, s := range k.Rounds[0].Result.Assumptions {
		if s.ID != id {
			continue
		}
		if s.Importance.Agreement == engine.Split {
			out = append(out, "Importance: "+thirds(s.Importance, camps.Importance))
		}
		if s.Evidence.Agreement == engine.Split {
			out = append(out, "Evidence: "+thirds(s.Evidence, camps.Evidence))
		}
	}
	return out
}

func thirds(s engine.Spread, n [3]int) string {
	if s.N < state.FewestRaters {
		return "fewer than four rated it, so no counts are shown: they would give single ratings away."
	}
	return fmt.Sprintf("%d rated it 1 to 3, %d rated it 4 to 6, %d rated it 7 to 9.", n[0], n[1], n[2])
}

// ReasonMessage is one reason, in the thread of what it is about.
func ReasonMessage(p screen.Page, arg string) (screen.Posting, error) {
	r, err := screen.Numbered(p.Kickoff.Reasons, "reason", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	from := "A reason without a name"
	if r.By != "" {
		from = words.Clip(p.Kickoff.Name(r.By), 60)
	}
	return screen.Posting{
		Text:   block.Escape(fmt.Sprintf("%s, on %s: %s", from, r.Assumption, words.Clip(r.Text, 200))),
		Blocks: []slack.Block{block.Para(block.BoldTyped(from, 60), block.Plain(", on %s:", r.Assumption)), block.Quote(block.Typed(r.Text, flows.MaxText))},
	}, nil
}

func newReason(p screen.Page, f *block.Form) flows.Intent {
	a, _ := p.Kickoff.Assumption(p.Args.Assumption)
	f.Title, f.Submit = "Say why", "Share"
	f.Add(block.Para(block.Bold("%s ", a.ID), block.Typed(a.Text, 600)))
	if flows.Waits(&p.Kickoff, p.Viewer, a.ID) {
		f.Add(block.Note("You lead this kickoff, so a reason with your name waits until somebody else has given one, or the rating closes. Without your name it is shown at once."))
	}
	return flows.GiveReason{By: screen.By(p), Assumption: p.Args.Assumption,
		Text: f.Text("text", "What may others not know?", "",
			block.Hint("A fact, a number, something you have seen. It goes into the thread.")),
		Signed: f.Tick("signed", "Your name", "sign", "Show my name",
			block.Hint("Without the tick your name is not kept anywhere, so a reason cannot be taken back."))}
}

func hasAssumption(p screen.Page) error {
	if _, ok := p.Kickoff.Assumption(p.Args.Assumption); !ok {
		return fmt.Errorf("there is no assumption %q", p.Args.Assumption)
	}
	return nil
}
