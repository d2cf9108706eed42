// Package underway draws a discovery after its kickoff: check-ins, what they
// moved, and the decision at the end of the time box. Start with [Forms] and
// [CheckinMessage].
package underway

import (
	"fmt"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/views"
)

// Forms are the forms of a discovery that is underway, by name.
func Forms() map[string]screen.Form {
	may := screen.Both(isOpenCheckin, screen.MayTakePart)
	return map[string]screen.Form{
		"checkin.report":   {May: may, Fill: drawReport, Submit: submitReport},
		"decision.against": {May: screen.MayLead, Fill: drawAgainst},
		"checkin.told":     {May: may, Fill: drawTold, Submit: submitTold},
		"checkin.reports":  {May: may, Fill: listReports},
		"checkin.correct":  {May: screen.Both(may, mayCorrect), Fill: drawCorrection, Submit: submitCorrection, CloseAll: true}, // the entry in screen.Args.Round
	}
}

var Actions = map[string]screen.Action{
	"decision.vote": func(p screen.Page) (flows.Intent, string) {
		choice := state.Choice(p.Args.Choice)
		return flows.VoteDecision{By: screen.By(p), N: p.Args.Round, Choice: choice, Weeks: p.Args.N},
			fmt.Sprintf("Your vote is in: %s. Press another button to change it.", words.ChoiceText(choice, p.Args.N))
	},
	"decision.settle": func(p screen.Page) (flows.Intent, string) {
		choice := state.Choice(p.Args.Choice)
		return flows.SettleDecision{ByLead: screen.ByLead(p), N: p.Args.Round, Choice: choice, Weeks: p.Args.N},
			fmt.Sprintf("Settled: %s. The channel is told.", words.ChoiceText(choice, p.Args.N))
	},
}

// Nudge is about an open check-in, or the open decision.
func Nudge(p screen.Page) screen.Nudge {
	k := p.Kickoff
	if c, open := openCheckin(k); open {
		if _, voted := c.Confidence[p.Viewer]; voted || !slices.Contains(k.InRing(state.Core), p.Viewer) {
			return screen.Nudge{}
		}
		return screen.Nudge{Open: "A check-in is open: say how your tests went and how confident you are.", Minutes: 3, Closes: c.Closes,
			Acts: []*slack.ButtonBlockElement{screen.Button("Report", "open/checkin.report", checkinArgs(p, c.N))}}
	}
	d := k.Underway.Decision
	if _, voted := d.Votes[p.Viewer]; voted || d.Phase != state.PhaseOpen {
		return screen.Nudge{}
	}
	return screen.Nudge{Open: "Build, stop, or another time box? The vote is in the channel, beside what was written down beforehand.", Minutes: 1, Closes: d.Closes}
}

// Desk is what a lead can do about a discovery that is underway.
func Desk(p screen.Page) []screen.Control {
	return []screen.Control{{Button: screen.Button("Change the Summary", "open/close.preview", screen.StageArgs(p, state.StageClose)),
		Does: "Go through the summary and change what is yours to change."}}
}

func checkinArgs(p screen.Page, n int) screen.Args {
	args := screen.StageArgs(p, state.StageUnderway)
	args.N = n
	return args
}

// CheckinMessage asks the owners for results, and the core team what they
// think now. Confidence and evidence stay unseen until it closes.
func CheckinMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	c, err := screen.Numbered(k.Underway.Checkins, "check-in", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	core := k.InRing(state.Core)
	_, voted := c.Voters(core)
	heading := block.Heading(fmt.Sprintf("Check-in %d", c.N))
	if !c.Closed.IsZero() {
		text := fmt.Sprintf("%d of %d in the core team answered.", voted, len(core))
		return screen.Posting{
			Text:   checkinText(k, c, " has closed. "+text),
			Blocks: []slack.Block{heading, block.Para(block.Plain("Closed "), block.When(c.Closed), block.Plain(". %s", text))},
		}, nil
	}
	if k.Stage == state.StageEnded {
		return screen.Line(p, fmt.Sprintf("Check-in %d", c.N), "The kickoff ended before this closed. Results that were reported stand; ratings were not counted."), nil
	}
	const ask = "Owners, how did your tests go? Core team, what do you think now?"
	blocks := []slack.Block{heading, block.Para(block.Bold(ask)),
		block.Text("First what your tests found and what you learnt, then how confident you are. Ratings stay unseen until the close.")}
	if fresh := flows.ToPlace(&k, c.N); len(fresh) > 0 {
		blocks = append(blocks, block.Text("New since the map was made, to be rated by the core team as on a ballot, unseen:"))
		blocks = append(blocks, block.List(fresh, 10, func(id string) []block.Run {
			a, _ := k.Assumption(id)
			return []block.Run{block.Bold("%s ", id), block.Typed(a.Text, 200)}
		})...)
	}
	blocks = append(blocks, resultList(k, c)...)
	acts := append([]*slack.ButtonBlockElement{block.Primary(screen.Button("Check In", "open/checkin.report", checkinArgs(p, c.N)))}, screen.AddButtons(p)...)
	if len(c.Results) > 0 {
		acts = append(acts, screen.Button("Correct a Report", "open/checkin.reports", checkinArgs(p, c.N)))
	}
	return screen.Posting{
		Text: checkinText(k, c, ": "+ask+" About 3 minutes. ") + "Closes " + block.WhenText(c.Closes) + ".",
		Blocks: append(blocks,
			block.Para(block.Plain("About 3 minutes. Closes "), block.When(c.Closes), block.Plain(" your time; you can change your answers until then.")),
			block.Buttons(acts...),
			block.Note(fmt.Sprintf("%d of %d in the core team have said how confident they are.", voted, len(core)))),
	}, nil
}

// checkinText is what is read aloud of a message about a check-in.
func checkinText(k state.Kickoff, c state.Checkin, says string) string {
	return block.Escape(fmt.Sprintf("%s, check-in %d%s", words.Clip(k.Brief.Title, 80), c.N, says))
}

// MovedMessage tells what a check-in moved on the map.
func MovedMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	c, err := screen.Numbered(k.Underway.Checkins, "check-in", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	progress := views.ProgressOf(k, p.Now)
	tested, left := words.TestedText(progress), words.DaysLeftText(progress)
	blocks := []slack.Block{block.Heading(fmt.Sprintf("Check-in %d: what moved", c.N)), block.Para(block.Bold("%s", movedText(c)))}
	blocks = append(blocks, moveList(k, c.Moved, 15)...)
	blocks = append(blocks, block.List(c.Placed, 10, func(s engine.AssumptionScore) []block.Run {
		a, _ := k.Assumption(s.ID)
		return []block.Run{block.Bold("New on the map: %s ", s.ID), block.Typed(a.Text, 120), block.Plain("\n%s", words.PlacedText(s))}
	})...)
	if len(c.Results) > 0 {
		blocks = append(append(blocks, block.Text("Results:")), resultList(k, c)...)
	}
	return screen.Posting{
		Text: checkinText(k, c, ": "+movedText(c)+" "+tested+" "+left),
		Blocks: append(blocks,
			block.Text("%s", words.ConfidenceMove(k, c)),
			block.Para(block.Bold("How far we are: "), block.Plain("%s %s %s%s", tested, words.FoundText(k), left, enoughText(k, progress))),
			block.Note("The ranges hold the true share in 95 of 100 such tests (Wilson). Zones are those of the kickoff's map, so that what moves is the evidence and not the yardstick.")),
	}, nil
}

// movedText: "The evidence moved on 2 assumptions: A3, A1."
func movedText(c state.Checkin) string {
	if len(c.Moved) == 0 {
		return "No evidence moved this time."
	}
	var ids []string
	for _, m := range c.Moved {
		ids = append(ids, m.Assumption)
	}
	return fmt.Sprintf("The evidence moved on %s: %s.", words.Count(len(ids), "assumption", "assumptions"), words.Listed(ids, 8))
}

func moveList(k state.Kickoff, moves []state.Move, most int) []slack.Block {
	return block.List(moves, most, func(m state.Move) []block.Run {
		a, _ := k.Assumption(m.Assumption)
		return []block.Run{block.Bold("%s ", m.Assumption), block.Typed(a.Text, 120), block.Plain("\n%s", words.MoveText(m, state.VerdictOf(&k, m.Assumption)))}
	})
}

// DigestMessage is the same in three lines, for those who are only informed.
func DigestMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	c, err := screen.Numbered(k.Underway.Checkins, "check-in", arg)
	if err != nil {
		return screen.Posting{}, err
	}
	progress := views.ProgressOf(k, p.Now)
	says := strings.Join([]string{movedText(c), words.TestedText(progress), words.FoundText(k), words.ConfidenceMove(k, c), words.DaysLeftText(progress)}, " ")
	blocks := []slack.Block{block.Heading(fmt.Sprintf("Check-in %d in short", c.N)), block.Para(block.Typed(k.Brief.Title, 150)), block.Text("%s", says)}
	blocks = append(blocks, moveList(k, c.Moved, 3)...)
	return screen.Posting{
		Text:   checkinText(k, c, " in short: "+says),
		Blocks: append(blocks, block.Note("You get this because you are informed in this kickoff. Nothing is asked of you.")),
	}, nil
}

// The form of a check-in: results of the viewer's tests, evidence that
// changed, confidence in the whole.

// A form holds 100 blocks: each test takes two at most, each assumption one.
const (
	mostReported = 18
	mostRerated  = 40
	mostNew      = 8
	formBlocks   = 100
)

// openCheckin is the check-in that takes answers now.
func openCheckin(k state.Kickoff) (state.Checkin, bool) {
	if n := len(k.Underway.Checkins); n > 0 && k.Underway.Checkins[n-1].Closed.IsZero() && k.Stage == state.StageUnderway {
		return k.Underway.Checkins[n-1], true
	}
	return state.Checkin{}, false
}

func isOpenCheckin(p screen.Page) error {
	if c, ok := openCheckin(p.Kickoff); !ok || p.Args.N != c.N {
		return screen.Refuse("That check-in has closed. The next one is announced in the channel.")
	}
	return nil
}

func drawReport(p screen.Page, f *block.Form) flows.Intent {
	c, _ := openCheckin(p.Kickoff)
	f.Title, f.Submit = fmt.Sprintf("Check-in %d", c.N), "Report"
	resultEntries(f, p)
	newEntries(f, p, c)
	tested, others := evidenceOn(p.Kickoff)
	evidenceEntries(f, p, c, tested, block.Bold("The evidence. "), block.Plain("How solid is what we know today? Leave out what has not changed."))
	// Everybody who opens the form is asked. It may stay empty, so that a result
	// can be reported today and an opinion formed tomorrow; the core team is
	// waited for.
	f.Select("confidence", "How confident are you?", screen.FigureOf(c.Confidence[p.Viewer]),
		screen.ScaleOptions(map[int]string{1: "not at all", 5: "could go either way", 9: "quite sure"}),
		block.Optional, block.Hint("All in all, would this be worth building? Nobody sees it before the check-in closes."))
	// People also learn what nobody set out to find.
	evidenceEntries(f, p, c, words.FirstOf(others, max(0, formBlocks-len(f.Blocks)-1)),
		block.Bold("Learnt something else? "), block.Plain("You can stop here. Below are the other assumptions, for what came up by the way."))
	return nil
}

// newEntries ask for both ratings of what has no place on the map yet.
func newEntries(f *block.Form, p screen.Page, c state.Checkin) {
	for _, id := range words.FirstOf(flows.ToPlace(&p.Kickoff, c.N), mostNew) {
		a, _ := p.Kickoff.Assumption(id)
		stood := c.Rated[p.Viewer][id]
		intro := []block.Run{block.Bold("New: %s ", id), block.Typed(a.Text, 500)}
		if a.Because != "" {
			intro = append(intro, block.Plain("\nBecause: "), block.Typed(a.Because, 500))
		}
		f.Add(block.Para(intro...))
		f.Select("importance/"+id, "How badly would it hurt to be mistaken?", screen.FigureOf(stood.Importance), screen.ScaleOptions(screen.ScaleWords(state.Importance)), block.Optional)
		f.Select("known/"+id, "How solid is what we know today?", screen.FigureOf(stood.Evidence), screen.ScaleOptions(screen.ScaleWords(state.Evidence)), block.Optional)
	}
}

// evidenceOn lists the assumptions that have a score, in test order: those
// that have a test, where evidence is most likely to have moved, and the others.
func evidenceOn(k state.Kickoff) (tested, others []string) {
	for _, id := range k.Order() {
		_, scored := k.Scored(id)
		switch {
		case !scored:
		case len(k.TestsOf(id)) > 0 && len(tested) < mostRerated:
			tested = append(tested, id)
		default:
			others = append(others, id)
		}
	}
	return tested, others
}

// evidenceEntries asks for the evidence of each assumption, if there are any.
func evidenceEntries(f *block.Form, p screen.Page, c state.Checkin, ids []string, intro ...block.Run) {
	if len(ids) == 0 {
		return
	}
	f.Add(block.Para(intro...))
	for _, id := range ids {
		a, _ := p.Kickoff.Assumption(id)
		f.Select("evidence/"+id, words.Clip(id+": "+a.Text, 150), screen.FigureOf(c.Evidence[p.Viewer][id]), screen.ScaleOptions(screen.ScaleWords(state.Evidence)), block.Optional)
	}
}

// enoughText proposes an early end where no open test can change what the marks say.
func enoughText(k state.Kickoff, p views.Progress) string {
	if !state.Settled(&k) || k.Stage == state.StageEnded || p.DaysLeft == 0 {
		return ""
	}
	return fmt.Sprintf(" No open test can change what we wrote down beforehand, so %s could be saved: the lead can open the decision now.", words.Count(p.DaysLeft, "day", "days"))
}
