package screens

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/engine"
	"soundings/flows"
)

func underwayForms() map[string]Form {
	return map[string]Form{"checkin.report": {Open: openReport, Submit: submitReport}}
}

func underwayDeeds() map[string]deed {
	return map[string]deed{"decision.vote": voteDeed, "decision.settle": settleDeed}
}

// numberedCheckin finds the check-in of that number.
func numberedCheckin(k flows.Kickoff, arg string) (flows.Checkin, error) {
	n, err := strconv.Atoi(arg)
	if err != nil || n < 1 || n > len(k.Underway.Checkins) {
		return flows.Checkin{}, fmt.Errorf("there is no check-in %q", arg)
	}
	return k.Underway.Checkins[n-1], nil
}

func checkinArgs(p Page, n int) Args {
	args := stageArgs(p, flows.StageUnderway)
	args.N = n
	return args
}

// checkinMessage asks the owners for results, and the core team what they
// think now. Confidence and evidence stay unseen until it closes.
func checkinMessage(p Page, arg string) (Posting, error) {
	k := p.Kickoff
	c, err := numberedCheckin(k, arg)
	if err != nil {
		return Posting{}, err
	}
	title := fmt.Sprintf("Check-in %d", c.N)
	if !c.Closed.IsZero() {
		return closedCheckin(p, c, title), nil
	}
	ask := "Owners, how did your tests go? Core team, what do you think now?"
	blocks := []slack.Block{heading(title), para(bold("%s", ask)),
		para(plain("Owners give the count so far, such as 9 of 12. The core team rates the evidence that changed, and says how confident it is; nobody sees either before the close."))}
	if len(c.Results) > 0 {
		blocks = append(blocks, resultList(k, c)...)
	}
	blocks = append(blocks,
		para(plain("About 3 minutes. Closes "), when(c.Closes), plain(" your time. You can change your answers until then.")),
		buttons(primary(button("Check In", "open/checkin.report", checkinArgs(p, c.N)))),
		note(fmt.Sprintf("%d of %d in the core team have said how confident they are.", coreVotes(k, c), len(k.InRing(flows.Core)))))
	return Posting{
		Text:   escape(fmt.Sprintf("%s, check-in %d: %s About 3 minutes. ", clip(k.Brief.Title, 80), c.N, ask)) + "Closes " + whenText(c.Closes) + ".",
		Blocks: blocks,
	}, nil
}

func closedCheckin(p Page, c flows.Checkin, title string) Posting {
	text := fmt.Sprintf(" %d of %d in the core team answered.", coreVotes(p.Kickoff, c), len(p.Kickoff.InRing(flows.Core)))
	return Posting{
		Text:   escape(fmt.Sprintf("%s, check-in %d has closed.%s", clip(p.Kickoff.Brief.Title, 80), c.N, text)),
		Blocks: []slack.Block{heading(title), para(plain("Closed "), when(c.Closed), plain(".%s", text))},
	}
}

func coreVotes(k flows.Kickoff, c flows.Checkin) int {
	n := 0
	for _, u := range k.InRing(flows.Core) {
		if _, voted := c.Confidence[u]; voted {
			n++
		}
	}
	return n
}

// resultList is what tests showed, against the pass marks that were fixed
// before.
func resultList(k flows.Kickoff, c flows.Checkin) []slack.Block {
	var items [][]word
	for _, r := range firstOf(c.Results, 15) {
		t, ok := k.Test(r.Test)
		if !ok {
			continue
		}
		items = append(items, []word{bold("%s ", t.Assumption), typed(t.Method, 80), plain(": %s", findingText(engine.Judge(r.K, r.N, t.PassShare)))})
	}
	return withMore(items, len(c.Results))
}

// movedMessage tells what a check-in moved on the map.
func movedMessage(p Page, arg string) (Posting, error) {
	k := p.Kickoff
	c, err := numberedCheckin(k, arg)
	if err != nil {
		return Posting{}, err
	}
	progress := k.Progress(p.Now)
	blocks := []slack.Block{heading(fmt.Sprintf("Check-in %d: what moved", c.N)), para(bold("%s", movedText(c)))}
	if len(c.Moved) > 0 {
		blocks = append(blocks, moveList(k, c.Moved, 15)...)
	}
	if len(c.Results) > 0 {
		blocks = append(blocks, para(plain("Results:")))
		blocks = append(blocks, resultList(k, c)...)
	}
	blocks = append(blocks,
		para(plain("%s", confidenceMove(k, c))),
		para(bold("How far we are: "), plain("%s %s %s", testedText(progress), foundText(k), daysLeftText(progress))),
		note("The ranges hold the true share in 95 of 100 such tests (Wilson). Zones are those of the kickoff's map, so that what moves is the evidence and not the yardstick."))
	return Posting{
		Text:   escape(fmt.Sprintf("%s, check-in %d: %s %s %s", clip(k.Brief.Title, 80), c.N, movedText(c), testedText(progress), daysLeftText(progress))),
		Blocks: blocks,
	}, nil
}

// movedText: "The evidence moved on 2 assumptions: A3, A1."
func movedText(c flows.Checkin) string {
	if len(c.Moved) == 0 {
		return "No evidence moved this time."
	}
	var ids []string
	for _, m := range c.Moved {
		ids = append(ids, m.Assumption)
	}
	return fmt.Sprintf("The evidence moved on %s: %s.", count(len(ids), "assumption", "assumptions"), listed(ids, 8))
}

func moveList(k flows.Kickoff, moves []flows.Move, most int) []slack.Block {
	var items [][]word
	for _, m := range firstOf(moves, most) {
		a, _ := k.Assumption(m.Assumption)
		items = append(items, []word{bold("%s ", m.Assumption), typed(a.Text, 120), plain("\n%s", moveText(m, k.VerdictOf(m.Assumption)))})
	}
	return withMore(items, len(moves))
}

// digestMessage is the same in three lines, for those who are only informed.
func digestMessage(p Page, arg string) (Posting, error) {
	k := p.Kickoff
	c, err := numberedCheckin(k, arg)
	if err != nil {
		return Posting{}, err
	}
	progress := k.Progress(p.Now)
	lines := []string{movedText(c), testedText(progress), foundText(k), confidenceMove(k, c), daysLeftText(progress)}
	blocks := []slack.Block{heading(fmt.Sprintf("Check-in %d in short", c.N)), para(typed(k.Brief.Title, 150)), para(plain("%s", strings.Join(lines, " ")))}
	if len(c.Moved) > 0 {
		blocks = append(blocks, moveList(k, c.Moved, 3)...)
	}
	return Posting{
		Text:   escape(fmt.Sprintf("%s, check-in %d in short: %s", clip(k.Brief.Title, 80), c.N, strings.Join(lines, " "))),
		Blocks: append(blocks, note("You get this because you are informed in this kickoff. Nothing is asked of you.")),
	}, nil
}
