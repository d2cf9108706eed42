package screens

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/screens/planning"
	"soundings/bot/screens/screen"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/tally"
)

func timeboxForms() map[string]screen.Form {
	return map[string]screen.Form{
		"timebox.why":    {Fill: showReasons},
		"timebox.vote":   {May: screen.Answering(state.StageTimebox), Fill: votedWeeks},
		"timebox.settle": {May: screen.Settles(state.StageTimebox), Fill: settledTimebox},
	}
}

var timeboxActions = map[string]screen.Action{
	"timebox.vote": func(p screen.Page) (flows.Intent, string) {
		thanks := "Your vote is in: " + words.WeeksText(p.Args.N) + ". Choose again if you change your mind."
		if t := p.Kickoff.Timebox; t.Worth[p.Viewer] == 0 || t.Cost[p.Viewer] == "" {
			thanks += " The questions above it are still open to you."
		}
		return flows.VoteWeeks{By: screen.By(p), Weeks: p.Args.N, More: true}, thanks
	},
	"timebox.worth": func(p screen.Page) (flows.Intent, string) {
		return flows.VoteOutlook{By: screen.By(p), Worth: p.Args.N}, fmt.Sprintf("Noted, for nobody else to see: %d of 9. Choose again if you change your mind.", p.Args.N)
	},
	"timebox.cost": func(p screen.Page) (flows.Intent, string) {
		cost := engine.Cost(p.Args.Choice)
		return flows.VoteOutlook{By: screen.By(p), Cost: cost}, "Noted, for nobody else to see: " + words.CostOf(cost) + ". Choose again if you change your mind."
	},
}

// timeboxAsks asks for a vote on the weeks, beside the bot's proposal.
func timeboxAsks(p screen.Page) (screen.Asking, error) {
	return screen.Asking{
		Ask:     fmt.Sprintf("How many weeks should this discovery get? The plan comes to %s.", words.WeeksText(p.Kickoff.Timebox.Proposal.Weeks)),
		Why:     "At its end we decide: build, stop, or another time box.",
		Minutes: 2,
		Body:    []slack.Block{block.Text("Nobody else sees your choices. Choose the weeks last: then you have finished.")},
		Pickers: timeboxPickers(p),
		Buttons: []*slack.ButtonBlockElement{screen.Button("See the Plan", "open/timebox.vote", screen.StageArgs(p, state.StageTimebox))},
		Neutral: true,
		Chosen:  []block.Run{block.Plain("%s", words.VotesText(p.Kickoff.Timebox))},
	}, nil
}

// What is asked beside the weeks.
const (
	worthAsks = "How likely is it that this is worth building?"
	costAsks  = "What would it cost us to be wrong?"
)

// timeboxPickers are the votes in the message itself: one choice needs no form. The
// weeks come last, since whoever has chosen them has finished.
func timeboxPickers(p screen.Page) []slack.Block {
	args := screen.StageArgs(p, state.StageTimebox)
	numbered := func(options []block.Option) []block.Option {
		for i := range options {
			args.N = i + 1
			options[i].Value = args.String()
		}
		return options
	}
	weeks, worth := numbered(weekOptions()), numbered(worthOptions())
	args.N = 0
	costs := costOptions()
	for i, c := range engine.Costs() {
		args.Choice = string(c)
		costs[i].Value = args.String()
	}
	return []slack.Block{
		block.Picker("do/timebox.worth", "Worth building? How likely?", worth), // the whole question is cut off on a phone
		block.Picker("do/timebox.cost", costAsks, costs),
		block.Picker("do/timebox.vote", "How many weeks?", weeks),
	}
}

func worthOptions() []block.Option {
	return screen.ScaleOptions(map[int]string{1: "surely not", 5: "as likely as not", 9: "surely"})
}

func costOptions() []block.Option {
	var options []block.Option
	for _, c := range engine.Costs() {
		options = append(options, block.Option{Value: string(c), Text: words.SentenceCase(words.CostOf(c))})
	}
	return options
}

// proposalBlocks shows why so many weeks are proposed.
func proposalBlocks(k state.Kickoff) []slack.Block {
	proposal := k.Timebox.Proposal
	blocks := []slack.Block{block.Para(block.Bold("%s proposed. ", words.WeeksText(proposal.Weeks)), block.Styled(proposal.Why, nil))}
	if bars := report.Bars(k, flows.MaxWeeks); bars != "" {
		blocks = append(blocks, block.Text("How many of the assumptions to test first would have a first result:"))
		blocks = append(blocks, block.Drawn([]report.Block{bars})...)
	}
	return append(blocks, weeksWords(k, proposal.Weeks)...)
}

// weeksWords says what so many weeks bring, what more would, and what fewer than
// the plan leave untested.
func weeksWords(k state.Kickoff, weeks int) []slack.Block {
	plan := tally.Schedule(&k)
	var blocks []slack.Block
	for _, text := range []string{words.ShortBox(plan, weeks), words.WeeksBring(plan, weeks)} {
		if text != "" {
			blocks = append(blocks, block.Text("%s", text))
		}
	}
	return blocks
}

// timeboxResult is the time box as it was set, and what was written down
// beforehand.
func timeboxResult(p screen.Page) (screen.Posting, error) {
	k := p.Kickoff
	t := k.Timebox
	if t.Weeks == 0 {
		return screen.Line(p, "The time box", "It is not set yet."), nil
	}
	blocks := []slack.Block{block.Heading("The time box: " + words.WeeksText(t.Weeks))}
	return screen.Posting{
		Text: block.Escape(fmt.Sprintf("%s: the discovery gets %s, with a check-in each %s. It begins when the summary is out.",
			words.Clip(k.Brief.Title, 80), words.WeeksText(t.Weeks), t.Checkin)),
		Blocks: slices.Concat(blocks, block.Drawn(report.Timebox(k)), block.Drawn(report.Marks(k)),
			[]slack.Block{block.Buttons(screen.Button("Why This Long?", "open/timebox.why", screen.StageArgs(p, state.StageTimebox)))}),
	}, nil
}

// showReasons shows the votes and the plan from which the time box was set.
func showReasons(p screen.Page, f *block.Form) flows.Intent {
	f.Title = "Why so long?"
	if p.Kickoff.Timebox.Weeks == 0 {
		f.Add(block.Text("It is not set yet."))
		return nil
	}
	f.Add(block.Drawn(report.TimeboxReasons(p.Kickoff))...)
	return nil
}

// timeboxSettles asks the lead to set the time box.
func timeboxSettles(p screen.Page) (screen.Settling, error) {
	k, t := p.Kickoff, p.Kickoff.Timebox
	until, waits := screen.SettlingIn(k, state.StageTimebox)
	out := screen.Settling{Title: "Set the time box"}
	switch {
	case k.LeavesOut(state.StageTimebox):
		return out.Done("It is left out. The kickoff ends with its summary.")
	case waits && k.Stage == state.StageTimebox:
	case t.Weeks == 0 || k.Window.Stage == state.StageTimebox:
		return out.Done("People are voting again.")
	default:
		return out.Done(fmt.Sprintf("Done: %s, with a check-in each %s.", words.WeeksText(t.Weeks), t.Checkin))
	}
	weeks := words.WeeksText(tally.ProposedWeeks(&k))
	comes := "The votes come to " + weeks + "."
	if median, _ := t.Spread(); !median.Defined() {
		comes = weeks + " are proposed."
	}
	out.Ask = "please set the time box. " + comes
	out.Without, out.Until = "Without you that stands from", until
	out.Acts = []*slack.ButtonBlockElement{block.Primary(screen.Button("Set the Time Box", "open/timebox.settle", screen.StageArgs(p, state.StageTimebox)))}
	for _, text := range append([]string{words.VotesText(t)}, words.Proposed(t)...) {
		out.Body = append(out.Body, block.Para(block.Styled(text, nil)))
	}
	out.Body = append(out.Body, weeksWords(k, tally.ProposedWeeks(&k))...)
	out.Body = append(out.Body,
		block.Text("Write down now what would make us stop and what would make us build. Later, everybody sees it beside the vote."),
		block.Para(block.Plain("If you do nothing, it will be %s with check-ins on Wednesday, from ", weeks), block.When(until), block.Plain(".")),
		block.Buttons(out.Acts...))
	out.Home = []block.Run{block.Plain("Please set the time box. %s", comes)}
	return out, nil
}

func weekOptions() []block.Option { return block.Numbered(flows.MaxWeeks, words.WeeksText) }

func votedWeeks(p screen.Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "How long?", "Vote"
	f.Add(proposalBlocks(p.Kickoff)...)
	t := p.Kickoff.Timebox
	worth, _ := strconv.Atoi(f.Select("worth", worthAsks, screen.FigureOf(t.Worth[p.Viewer]), worthOptions(), block.Optional,
		block.Hint("Before any test. Later, your confidence as a group is laid beside it. Nobody sees who said what.")))
	cost := f.Select("cost", costAsks, string(t.Cost[p.Viewer]), costOptions(), block.Optional,
		block.Hint("The more there is to lose, the longer it is worth looking."))
	weeks, _ := strconv.Atoi(f.Select("weeks", "How many weeks?", screen.FigureOf(t.Votes[p.Viewer]), weekOptions()))
	return flows.VoteWeeks{By: screen.By(p), Weeks: weeks, Worth: worth, Cost: engine.Cost(cost)}
}

func settledTimebox(p screen.Page, f *block.Form) flows.Intent {
	t := p.Kickoff.Timebox
	stood, day := tally.ProposedWeeks(&p.Kickoff), time.Wednesday
	if t.Weeks > 0 { // set once already, and reopened
		stood, day = t.Weeks, t.Checkin
	}
	f.Title, f.Submit = "Set the time box", "Set It"
	f.Add(block.Para(block.Styled(words.VotesText(t), nil)))
	weeks, _ := strconv.Atoi(f.Select("weeks", "Weeks", strconv.Itoa(stood), weekOptions()))
	checkin, err := strconv.Atoi(f.Select("checkin", "Check-in day", strconv.Itoa(int(day)), screen.WeekdayOptions()))
	if err != nil {
		f.Fault("checkin", "Choose a day of the week for the check-ins.")
	}
	set := flows.SetTimebox{ByLead: screen.ByLead(p), Weeks: weeks, Checkin: time.Weekday(checkin)}
	set.StopIf = f.Text("stop_if", "We stop if …", t.StopIf, block.Optional,
		block.Hint("What would we have to find to give this up? Name figures where you can."))
	set.StopOn = markOn(p, f, "stop_on", t.StopOn, "What tells whether we stop?", "We stop if it turns out not true. Everybody sees that before the vote.")
	set.BuildIf = f.Text("build_if", "We build if …", t.BuildIf, block.Optional,
		block.Hint("What would be enough to go ahead? Written now, it binds us more than it would later."))
	set.BuildOn = markOn(p, f, "build_on", t.BuildOn, "What tells whether we build?", "We build if it turns out true.")
	return set
}

// notTested is the choice of a mark that nothing tells of.
const notTested = "-"

// markOn asks what tells whether a mark is met: an assumption, or one of its tests.
func markOn(p screen.Page, f *block.Form, field, stood, name, met string) string {
	options := []block.Option{{Value: notTested, Text: "Not tested: people will judge it"}}
	for _, id := range p.Kickoff.Order() {
		options = append(options, planning.AssumptionOption(p.Kickoff, id))
		for _, t := range p.Kickoff.TestsOf(id) {
			options = append(options, block.Option{Value: state.TestOn(t.N), Text: id + ", only by: " + t.Method})
		}
	}
	on := f.Select(field, name, cmp.Or(stood, notTested), words.FirstOf(options, 100), block.Optional,
		block.Hint(met))
	if on == notTested {
		return ""
	}
	return on
}
