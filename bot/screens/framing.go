package screens

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/slack-go/slack"

	"soundings/flows"
)

func framingForms() map[string]Form {
	return map[string]Form{
		"framing.add":    {Open: openWording, Submit: submitWording},
		"framing.edit":   {Open: openWordingEdit, Submit: submitWordingEdit},
		"framing.vote":   {Open: openFramingVote, Submit: submitFramingVote},
		"framing.settle": {Open: openFramingSettle, Submit: submitFramingSettle},
	}
}

func framingDeeds() map[string]deed {
	return map[string]deed{
		"framing.confirm": func(p Page) (flows.Intent, string) {
			f := p.Kickoff.Framing
			return flows.SettleFraming{ByLead: byLead(p), Problem: p.Kickoff.WordingText(f.Proposed), Level: f.Level.Level},
				"Settled. The channel sees it now."
		},
		"framing.original": func(p Page) (flows.Intent, string) {
			return flows.SettleFraming{ByLead: byLead(p), Problem: p.Kickoff.Brief.Problem, Level: 0},
				"Settled: the wording stays as you brought it."
		},
	}
}

// framingMessage asks for a level and for the wordings that people could
// live with. Whose wording it is does not stand beside it until the close:
// words should be weighed, not names.
func framingMessage(p Page) (Posting, error) {
	args := stageArgs(p, flows.StageFraming)
	wordings := rungs(p.Kickoff)
	return asking{
		stage:   flows.StageFraming,
		title:   stageName(flows.StageFraming),
		ask:     "Say how broad the problem should be, and tick each wording that you could live with.",
		why:     "Broader asks why it matters; narrower asks for whom, when and how it shows. Too broad is never finished, too narrow misses the better answer.",
		minutes: 2 + len(wordings)/5,
		body:    append([]slack.Block{para(bold("The wordings so far, from broad to narrow"))}, wordingList(p.Kickoff, wordings)...),
		buttons: []*slack.ButtonBlockElement{
			button("Choose", "open/framing.vote", args),
			button("Add a Wording", "open/framing.add", args),
		},
	}.posting(p), nil
}

// wordingList shows wordings on their levels, the first many of them.
func wordingList(k flows.Kickoff, wordings []int) []slack.Block {
	const most = 14
	var items [][]word
	for _, n := range firstOf(wordings, most) {
		items = append(items, append([]word{bold("%s: ", rungName(k.Framing.LevelOf(n))), typed(k.WordingText(n), 240)}, wordingMark(k, n)...))
	}
	return withMore(items, len(wordings))
}

// wordingMark tells the original and unedited drafts from what people wrote.
func wordingMark(k flows.Kickoff, n int) []word {
	switch {
	case n == flows.Original:
		return []word{plain(" (the original)")}
	case k.Framing.Wordings[n-1].Drafted:
		return []word{plain(" (a machine's draft)")}
	}
	return nil
}

// rungName is a level in short.
func rungName(level int) string {
	return []string{"-2, much narrower", "-1, narrower", "0, as in the brief", "+1, broader", "+2, much broader"}[level+2]
}

// levelOptions are the rungs of the ladder, the broadest first, each with the
// question that leads to it.
func levelOptions() []option {
	return []option{
		{Value: "2", Text: "+2, much broader", About: "And why does that matter? What would be different for people?"},
		{Value: "1", Text: "+1, broader", About: "Why does this matter?"},
		{Value: "0", Text: "0, as in the brief", About: "The same problem, perhaps in better words"},
		{Value: "-1", Text: "-1, narrower", About: "How does it show? For whom, and when?"},
		{Value: "-2", Text: "-2, much narrower", About: "One such moment: who, where, doing what?"},
	}
}

// framingResult is the problem on which everything after it stands.
func framingResult(p Page) (Posting, error) {
	k := p.Kickoff
	if !k.Framing.Settled {
		return line(p, "The problem we work on", "It is being framed again."), nil
	}
	blocks := []slack.Block{
		heading("The problem we work on"),
		quoted(typed(k.Framing.Problem, 1500)),
		para(plain("%s %s", framingBy(k), ladderText(k))),
		para(bold("All the wordings, and who could live with them")),
	}
	return Posting{
		Text:   escape(fmt.Sprintf("%s: this is the problem we work on. %s", clip(k.Brief.Title, 80), clip(oneLine(k.Framing.Problem), 200))),
		Blocks: append(blocks, ladderList(k)...),
	}, nil
}

// framingBy says who settled the wording, and against the choice where so.
func framingBy(k flows.Kickoff) string {
	f := k.Framing
	if f.SettledBy == "" {
		return "The lead did not settle it in time, so what people chose stands."
	}
	by := "Settled by " + clip(k.Name(f.SettledBy), 60)
	switch {
	case f.Problem == k.WordingText(f.Proposed):
		return by + ", as people chose."
	case f.Problem == k.Brief.Problem:
		return by + ", who kept the original wording."
	}
	return by + ", who changed the wording that people chose."
}

// framingSettle asks the lead to take the proposal, or to change it.
func framingSettle(p Page) (Posting, error) {
	k := p.Kickoff
	w, ok := windowOf(k, flows.StageFraming, 0)
	switch {
	case k.Framing.Settled:
		return line(p, "Settle the problem", "Done: "+clip(k.Framing.Problem, 300)), nil
	case !ok || w.Phase != flows.PhaseSettling:
		return line(p, "Settle the problem", "People are choosing again."), nil
	}
	proposed := k.WordingText(k.Framing.Proposed)
	text := escape(fmt.Sprintf("%s: please settle the problem. Proposed is: %s ", clip(k.Brief.Title, 80), clip(oneLine(proposed), 140)))
	return Posting{
		Text: text + "Without you that stands from " + whenText(w.Until) + ".",
		Blocks: []slack.Block{
			heading("Settle the problem"),
			para(plain("%s", proposalText(k))), quoted(typed(proposed, 1500)),
			para(plain("%s", levelChoice(k))),
			para(plain("If you do nothing, this stands from "), when(w.Until), plain(" your time.")),
			buttons(settleButtons(p)...),
		},
	}, nil
}

// proposalText says why this wording is proposed.
func proposalText(k flows.Kickoff) string {
	ticks, n := k.Framing.Ticks(), k.Framing.Proposed
	if len(k.Framing.Votes) == 0 || ticks[n] == 0 {
		return "Nobody ticked a wording, so this one is proposed:"
	}
	which, level := "this wording", 0
	if n == flows.Original {
		which = "the original"
	}
	for _, t := range ticks {
		if t == ticks[n] {
			level++
		}
	}
	if level == 1 {
		return fmt.Sprintf("%d of %d could live with %s, more than with any other:", ticks[n], len(k.Framing.Votes), which)
	}
	return fmt.Sprintf("%d of %d could live with %s, as with %s; of these it is nearest to the level:", ticks[n], len(k.Framing.Votes), which,
		count(level-1, "other", "others"))
}

// levelChoice says what the choice of a level comes to, before it is settled.
func levelChoice(k flows.Kickoff) string {
	l := k.Framing.Level
	if l.N == 0 {
		return "Nobody chose a level, so it stays that of the brief: 0."
	}
	half := ""
	if l.HalfStep {
		half = " That is half-way between two levels, of which the narrower one is proposed."
	}
	return fmt.Sprintf("Level: %s. %s chose one; the median is %s and the middle half spans %s.%s",
		rungName(l.Level), count(l.N, "person", "people"), number(l.Median), number(l.IQR), half)
}

// settleButtons offer the proposal first; where it is the original, one
// button less.
func settleButtons(p Page) []*slack.ButtonBlockElement {
	args := stageArgs(p, flows.StageFraming)
	change := button("Change It", "open/framing.settle", args)
	if p.Kickoff.Framing.Proposed == flows.Original {
		return []*slack.ButtonBlockElement{primary(button("Keep the Original", "do/framing.confirm", args)), change}
	}
	return []*slack.ButtonBlockElement{
		primary(button("Take the Proposal", "do/framing.confirm", args)),
		button("Keep the Original", "do/framing.original", args), change,
	}
}

func openFramingSettle(p Page) (slack.ModalViewRequest, error) {
	if err := maySettle(p, flows.StageFraming); err != nil {
		return slack.ModalViewRequest{}, err
	}
	k := p.Kickoff
	return form("Settle the problem", "Settle",
		para(styled(levelChoice(k), nil)),
		textInput("problem", "The problem we work on", k.WordingText(k.Framing.Proposed), true, flows.MaxText),
		selectInput("level", "The level at which we work", strconv.Itoa(k.Framing.Level.Level), levelOptions()),
	), nil
}

func submitFramingSettle(p Page, v Values) (Answer, error) {
	level, ok := v.Number("level")
	if !ok {
		return faulty("level", chooseLevel)
	}
	return wants(flows.SettleFraming{ByLead: byLead(p), Problem: v.Text("problem"), Level: level})
}

const chooseLevel = "Choose a level from +2 (broader) to -2 (narrower)."

// changeable lists the numbers of the viewer's wordings; a lead may change any.
func changeable(p Page) []int {
	var out []int
	for _, w := range p.Kickoff.Framing.Wordings {
		if w.By == p.Viewer || p.Kickoff.IsLead(p.Viewer) {
			out = append(out, w.N)
		}
	}
	slices.Reverse(out)
	return out
}
