package underway

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/views"
)

// numberedDecision finds the decision of that number: an earlier one, or the
// last.
func numberedDecision(k state.Kickoff, arg string) (d state.Decision, n int, err error) {
	all := append(slices.Clone(k.Underway.Decision.Earlier), k.Underway.Decision)
	d, err = screen.Numbered(all, "decision", arg)
	n, _ = strconv.Atoi(arg)
	return d, n, err
}

// A way is one of the ways in which a time box can end.
type way struct {
	vote  state.DecisionVote
	label string // of its button
	means string // a sentence of ours
}

// ways lists the choices in the order in which they are shown.
func ways() []way {
	all := []way{
		{state.DecisionVote{Choice: state.Build}, "Build", "Build: we know enough to go ahead."},
		{state.DecisionVote{Choice: state.Stop}, "Stop", "Stop: we know enough to let it be."},
	}
	for _, weeks := range engine.Renewals() {
		all = append(all, way{state.DecisionVote{Choice: state.Another, Weeks: weeks}, fmt.Sprintf("Another %d Weeks", weeks),
			fmt.Sprintf("Another time box of %s: something that matters is still open.", words.WeeksText(weeks))})
	}
	return all
}

// DecisionMessage asks everybody how to go on. How others voted is not shown
// before the vote closes, and no button stands out: either would steer.
func DecisionMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	d, n, err := numberedDecision(k, arg)
	if err != nil {
		return screen.Posting{}, err
	}
	const title = "Build, stop, or look further?"
	switch {
	case d.Set != "":
		return screen.Line(p, title, fmt.Sprintf("Closed: %s. It was decided: %s.", votedText(k, d), words.ChoiceText(d.Set, d.Weeks))), nil
	case k.Stage == state.StageEnded:
		return screen.Line(p, title, "The kickoff ended before this was decided."), nil
	case d.Phase == state.PhaseSettling:
		return screen.Posting{
			Text:   screen.Aloud(k, "the vote has closed. %s. The lead settles it.", words.Tally(d)),
			Blocks: []slack.Block{block.Heading(title), block.Text("The vote has closed. %s. %s settles it.", words.Tally(d), words.LeadName(k))},
		}, nil
	case d.Phase != state.PhaseOpen:
		return screen.Line(p, title, "The vote is not open."), nil
	}
	opened := "The time box is over."
	if d.Early {
		opened = "The lead has opened the decision before the time box is over."
	}
	blocks := []slack.Block{block.Heading(title), block.Para(block.Bold("How shall we go on? Choose one.")), block.Text("%s This is what we wrote down before we knew:", opened)}
	blocks = append(blocks, block.Drawn(report.Marks(k))...)
	blocks = append(blocks, block.Para(block.Bold("How far we are: "), block.Plain("%s", report.HowFar(k, p.Now))))
	if open := words.OpenEnds(k, p.Now); open != "" {
		blocks = append(blocks, block.Text("%s", open))
	}
	blocks = append(blocks, wayButtons(p, "do/decision.vote", n, false)...)
	return screen.Posting{
		Text: screen.Aloud(k, "build, stop, or another time box? Please vote. About 1 minute. ") + "Closes " + block.WhenText(d.Closes) + ".",
		Blocks: append(blocks,
			block.Para(block.Plain("About 1 minute. Closes "), block.When(d.Closes), block.Plain(" your time. Press another button to change your vote until then.")),
			block.Note(votedText(k, d)+".")),
	}, nil
}

// votedText: "7 of 12 have voted".
func votedText(k state.Kickoff, d state.Decision) string {
	asked := k.Participants()
	return fmt.Sprintf("%d of %d have voted", d.VotedOf(asked), len(asked))
}

// wayButtons explains each choice beside its button. With ask, the platform
// asks again before the button acts. Round carries the number of the decision.
func wayButtons(p screen.Page, action string, n int, ask bool) []slack.Block {
	var blocks []slack.Block
	for _, w := range ways() {
		args := screen.Args{Kickoff: p.Kickoff.ID, Stage: string(state.StageUnderway), Round: n, Choice: string(w.vote.Choice), N: w.vote.Weeks}
		b := screen.Button(w.label, action, args)
		switch against := flows.Against(&p.Kickoff, w.vote.Choice); {
		case ask && against != "":
			b = screen.Button(w.label, "open/decision.against", args)
		case ask:
			block.Confirm(b, "Settle it?", w.means+" Everyone is told at once.", w.label)
		}
		blocks = append(blocks, block.Beside(w.means, b))
	}
	return blocks
}

// DecisionSettles asks the lead for the last word, on the decision in
// Args.Round.
func DecisionSettles(p screen.Page) (screen.Settling, error) {
	k := p.Kickoff
	d, n, err := numberedDecision(k, strconv.Itoa(p.Args.Round))
	if err != nil {
		return screen.Settling{}, err
	}
	out := screen.Settling{Title: "Settle the decision"}
	switch {
	case d.Set != "":
		return out.Done(fmt.Sprintf("Done: %s.", words.ChoiceText(d.Set, d.Weeks)))
	case k.Stage == state.StageEnded:
		return out.Done("The kickoff ended before this was settled. Nothing is left to do here.")
	case d.Phase != state.PhaseSettling:
		return out.Done("The vote is not closed yet.")
	}
	out.Without = "No choice has more than half of the votes, so nothing happens without you. You will be asked again"
	if most, ok := flows.PlainChoice(&k); ok {
		out.Without = fmt.Sprintf("More than half voted for this: %s. If you do nothing, it stands from", words.ChoiceText(most.Choice, most.Weeks))
	}
	out.Ask, out.Until = fmt.Sprintf("please settle the decision. %s.", words.Tally(d)), d.Until
	out.Body = append([]slack.Block{block.Para(block.Bold("%s.", words.Tally(d)), block.Plain(" %s.%s", votedText(k, d), words.RingsTally(d))), block.Text("Written down beforehand:")}, block.Drawn(report.Marks(k))...)
	out.Body = append(out.Body, block.Text("%s", views.Calibration(k).Sentence), block.Para(block.Plain("%s ", out.Without), block.When(d.Until), block.Plain(".")))
	out.Body = append(out.Body, wayButtons(p, "do/decision.settle", n, true)...)
	out.Home = []block.Run{block.Plain("The vote has closed. Please settle the decision: the votes and the buttons stand in our conversation, beside what was written down beforehand.")}
	return out, nil
}

// OutcomeMessage says what was decided, beside what was written down before
// anybody knew, and at the end what was believed, done and learnt.
func OutcomeMessage(p screen.Page, arg string) (screen.Posting, error) {
	k := p.Kickoff
	d, n, err := numberedDecision(k, arg)
	if err != nil {
		return screen.Posting{}, err
	}
	if d.Set == "" {
		return screen.Line(p, "The decision", "It is not made yet."), nil
	}
	decided := "Decided: " + words.ChoiceText(d.Set, d.Weeks)
	blocks := []slack.Block{block.Heading(decided), block.Para(settledWords(k, d)...), block.Text("This is what we wrote down before we knew:")}
	blocks = append(blocks, block.Drawn(report.Marks(k))...)
	text := fmt.Sprintf("%s. %s. %s.", words.Clip(k.Brief.Title, 80), decided, words.Tally(d))
	if d.Set == state.Another {
		if n == len(k.Timebox.Renewals) { // the last box: its end is known
			blocks = append(blocks, block.Para(block.Plain("The new time box ends on "), block.Day(k.Timebox.Ends), block.Plain(". It is a fresh look, not a longer wait: the check-ins go on.")))
			blocks = append(blocks, block.Text("%s", words.LeftText(k)))
			if !flows.Held(&k) {
				blocks = append(blocks, block.Note("A calendar with the new dates is in the thread. It replaces the one from before."))
			}
		}
		return screen.Posting{Text: block.Escape(text), Blocks: blocks}, nil
	}
	return screen.Posting{Text: block.Escape(text + " " + strings.Join(words.Ahead(k, d), " ")), Blocks: append(blocks, recordBlocks(k, d)...)}, nil
}

func settledWords(k state.Kickoff, d state.Decision) []block.Run {
	runs := []block.Run{block.Plain("%s. %s.%s ", words.Tally(d), votedText(k, d), words.RingsTally(d))}
	if d.Why != "" {
		runs = append(runs, block.Bold("It goes against what was written or voted, because: "), block.Typed(d.Why, flows.MaxSentence), block.Plain(" "))
	}
	if d.SetBy == "" {
		return append(runs, block.Plain("The lead did not object in time, so the vote stands."))
	}
	return append(runs, block.Plain("Settled by "), block.Typed(k.Name(d.SetBy), 60), block.Plain("."))
}

// recordBlocks say what the decision leaves to do, and what was believed, done and
// learnt, a line for each belief.
func recordBlocks(k state.Kickoff, d state.Decision) []slack.Block {
	var blocks []slack.Block
	for _, says := range words.Ahead(k, d) {
		blocks = append(blocks, block.Para(block.Bold("%s", says)))
	}
	if record := views.Record(&k); len(record) > 0 {
		blocks = append(blocks, block.Para(block.Bold("What we believed, and what came of it")))
		blocks = append(blocks, block.List(record, 10, func(b views.Belief) []block.Run {
			runs := []block.Run{block.Bold("%s ", b.ID), block.Typed(b.Text, 150), block.Bold(" %s", words.FateText(b.Fate))}
			if n := len(b.Learnt); n > 0 {
				runs = append(runs, block.Plain(" Learnt: "), block.Typed(b.Learnt[n-1], 200))
			}
			return runs
		})...)
	}
	return append(blocks, block.Note(strings.TrimSpace(words.CostText(k)+" "+views.Calibration(k).Sentence+" "+words.GuessText(k))))
}

// drawAgainst settles a decision against the marks or the votes, with a sentence.
func drawAgainst(p screen.Page, f *block.Form) flows.Intent {
	choice := state.Choice(p.Args.Choice)
	f.Title, f.Submit = "Settle the decision", "Settle It"
	f.Add(block.Para(block.Bold("%s", words.SentenceCase(words.ChoiceText(choice, p.Args.N))),
		block.Plain(" goes against %s. You may settle it so, with a sentence that everybody sees beside the decision.", flows.Against(&p.Kickoff, choice))))
	why := f.Text("why", "Why?", "", block.OneLine, block.Longest(flows.MaxSentence))
	return flows.SettleDecision{ByLead: screen.ByLead(p), N: p.Args.Round, Choice: choice, Weeks: p.Args.N, Why: why}
}
