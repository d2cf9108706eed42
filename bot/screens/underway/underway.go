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
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/tally"
	"soundings/flows/views"
)

// Forms are the forms of a discovery that is underway, by name.
func Forms() map[string]screen.Form {
	may := screen.Both(isOpenCheckin, screen.MayTakePart)
	return map[string]screen.Form{
		"checkin.report":   {May: may, Fill: drawCheckin, Submit: submitCheckin},
		"decision.against": {May: screen.MayLead, Fill: drawAgainst},
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
			return actionNudge(p)
		}
		open := "A check-in is open: say how your tests went and how confident you are."
		if due := flows.DueActions(&k, p.Viewer, p.Now); len(due) > 0 {
			open += " It also asks about what you said you would do by now."
		}
		return screen.Nudge{Open: open, Minutes: 3, Closes: c.Closes,
			Acts: []*slack.ButtonBlockElement{screen.Button("Check In", "open/checkin.report", checkinArgs(p, c.N))}}
	}
	d := k.Underway.Decision
	if _, voted := d.Votes[p.Viewer]; voted || d.Phase != state.PhaseOpen {
		return actionNudge(p)
	}
	return screen.Nudge{Open: "Build, stop, or another time box? The vote is in the channel, beside what was written down beforehand.", Minutes: 1, Closes: d.Closes}
}

// actionNudge is about an action of the viewer's that is due: is it done?
func actionNudge(p screen.Page) screen.Nudge {
	due := flows.DueActions(&p.Kickoff, p.Viewer, p.Now)
	if len(due) == 0 {
		return screen.Nudge{}
	}
	a, args := due[0], screen.StageArgs(p, state.StageClose)
	args.N = a.N
	n := screen.Nudge{Minutes: 1, Open: fmt.Sprintf("“%s” was to be done by %s. Press It Is Done, or change the day.", words.Clip(words.OneLine(a.What), 150), words.DayText(a.Due)),
		Acts: []*slack.ButtonBlockElement{screen.Button("It Is Done", "do/close.done", args), screen.Button("Change the Day", "open/close.edit", args)}}
	if more := len(due) - 1; more > 0 {
		n.Open += fmt.Sprintf(" And %s of yours.", words.Count(more, "more action", "more actions"))
		n.Acts = append(n.Acts, screen.Button("See the Actions", "open/close.list", screen.StageArgs(p, state.StageClose)))
	}
	return n
}

// Desk is what a lead can do about a discovery that is underway.
func Desk(p screen.Page) []screen.Control {
	return []screen.Control{{Button: screen.Button("Change the Summary", "open/close.preview", screen.StageArgs(p, state.StageClose)),
		Does: "Go through it, and change it."}}
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
	heading := block.Heading(fmt.Sprintf("Check-in %d", c.N))
	if !c.Closed.IsZero() {
		text := words.AnsweredText(k, c)
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
	if fresh := tally.ToPlace(&k, c.N); len(fresh) > 0 {
		blocks = append(blocks, block.Text("New since the map was made, to be rated by the core team as on a ballot, unseen:"))
		blocks = append(blocks, block.List(fresh, 10, func(id string) []block.Run {
			a, _ := k.Assumption(id)
			return []block.Run{block.Bold("%s ", id), block.Typed(a.Text, 200)}
		})...)
	}
	blocks = append(append(blocks, resultList(k, c)...), lateList(p)...)
	acts := append([]*slack.ButtonBlockElement{block.Primary(screen.Button("Check In", "open/checkin.report", checkinArgs(p, c.N)))}, screen.AddButtons(p)...)
	if len(c.Results) > 0 {
		acts = append(acts, screen.Button("Correct a Report", "open/checkin.reports", checkinArgs(p, c.N)))
	}
	return screen.Posting{
		Text: checkinText(k, c, ": "+ask+" About 3 minutes. ") + "Closes " + block.WhenText(c.Closes) + ".",
		Blocks: append(blocks,
			block.Para(block.Plain("About 3 minutes. Closes "), block.When(c.Closes), block.Plain(" your time; you can change your answers until then.")),
			block.Buttons(acts...),
			block.Note(words.AnsweredText(k, c))),
	}, nil
}

// mostLate is how many late tests a check-in names; the rest is behind See the Tests.
const mostLate = 3

// lateList names the tests whose day has passed, with their owners.
func lateList(p screen.Page) []slack.Block {
	late := report.LateTests(p.Kickoff, p.Now)
	if len(late) == 0 {
		return nil
	}
	blocks := []slack.Block{block.Para(block.Bold("Late, without a result. "), block.Plain("Owners: report it, put it off, or drop it."))}
	return append(blocks, block.Rows(late, mostLate, func(t report.LateTest) ([]block.Run, *slack.ButtonBlockElement) {
		owner := "nobody’s yet"
		if doer := state.DoerOf(&p.Kickoff, t.Test); doer != "" {
			owner = words.Clip(p.Kickoff.Name(doer), 40)
		}
		args := screen.StageArgs(p, state.StageBacklog)
		args.N = t.N
		return []block.Run{block.Bold("%s ", t.Assumption), block.Typed(words.OneLine(t.Method), 80), block.Plain(": "), block.Typed(owner, 40), block.Plain(", by %s", words.DayText(t.Due))},
			screen.Button("Put Off or Drop", "open/backlog.edit", args)
	})...)
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
	if three := report.Three(k, p.Now); len(three) > 0 {
		blocks = slices.Concat(blocks, block.Drawn(three), []slack.Block{block.Divider()})
	}
	blocks = append(blocks, moveList(k, c.Moves(), 15)...)
	blocks = append(blocks, block.List(c.Placed, 10, func(s engine.AssumptionScore) []block.Run {
		a, _ := k.Assumption(s.ID)
		return []block.Run{block.Bold("New on the map: %s ", s.ID), block.Typed(a.Text, 120), block.Plain("\n%s", words.PlacedText(s))}
	})...)
	if len(c.Results) > 0 {
		blocks = append(append(blocks, block.Text("Results:")), resultList(k, c)...)
	}
	for _, line := range []struct{ name, says string }{{"Not on the map yet", yetToPlace(k, c)}, {"Late", words.LateText(k, p.Now)}, {"Still unanswered", words.StillAskedText(k)}} {
		if line.says != "" {
			blocks = append(blocks, block.Para(block.Bold("%s: ", line.name), block.Plain("%s", line.says)))
		}
	}
	if file := k.Posted[flows.Slot{Screen: flows.ScreenMoved, Arg: arg}.Name()].Picture; file != "" {
		blocks = append(blocks, block.Picture(file, report.MovedMapText(k, c.N)))
	}
	return screen.Posting{
		Text: checkinText(k, c, ": "+movedText(c)+" "+tested+" "+left),
		Blocks: append(blocks,
			block.Text("%s", words.ConfidenceMove(k, c)),
			block.Para(block.Bold("How far we are: "), block.Plain("%s %s%s", words.TestedAndFound(k, progress), left, enoughText(k, progress))),
			block.Note(movedNote(c))),
	}, nil
}

// yetToPlace names what is new and was rated by nobody, or by one person alone.
func yetToPlace(k state.Kickoff, c state.Checkin) string {
	ids := tally.ToPlace(&k, c.N)
	if len(ids) == 0 || c.Closed.IsZero() {
		return ""
	}
	return words.And(ids, 8) + ". At least two people have to rate what is new; the next check-in asks again."
}

// movedNote says how the figures of a check-in are meant.
func movedNote(c state.Checkin) string {
	note := "What comes first stays as it was rated: only the evidence moves."
	if len(c.Results) > 0 {
		note = "The ranges hold the true share in 95 of 100 such tests. " + note
	}
	return note
}

// movedText: "The evidence moved on 2 assumptions: A3, A1. Few rated the evidence of A2 anew." Whether what
// few rated has moved is not told.
func movedText(c state.Checkin) string {
	var ids, few []string
	for _, m := range c.Moves() {
		if m.To.Defined() {
			ids = append(ids, m.Assumption)
		} else {
			few = append(few, m.Assumption)
		}
	}
	var says []string
	if len(ids) > 0 {
		says = append(says, fmt.Sprintf("The evidence moved on %s: %s.", words.Count(len(ids), "assumption", "assumptions"), words.Listed(ids, 8)))
	}
	if len(few) > 0 {
		says = append(says, fmt.Sprintf("Few rated the evidence of %s anew.", words.And(few, 8)))
	}
	if len(says) == 0 {
		return "No evidence moved this time."
	}
	return strings.Join(says, " ")
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
	says := strings.Join([]string{movedText(c), words.TestedAndFound(k, progress), words.ConfidenceMove(k, c), words.DaysLeftText(progress)}, " ")
	blocks := []slack.Block{block.Heading(fmt.Sprintf("Check-in %d in short", c.N)), block.Para(block.Typed(k.Brief.Title, 150)), block.Text("%s", says)}
	blocks = append(blocks, moveList(k, c.Moves(), 3)...)
	return screen.Posting{
		Text:   checkinText(k, c, " in short: "+says),
		Blocks: append(blocks, block.Note("You get this because you are informed in this kickoff. Nothing is asked of you.")),
	}, nil
}

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

// enoughText proposes an early end where no open test can change what the marks say.
func enoughText(k state.Kickoff, p views.Progress) string {
	if !state.Settled(&k) || k.Stage == state.StageEnded || p.DaysLeft == 0 {
		return ""
	}
	return fmt.Sprintf(" What we wrote down beforehand is decided, whatever the open tests say. So %s could be saved: the lead can open the decision now.", words.Count(p.DaysLeft, "day", "days"))
}
