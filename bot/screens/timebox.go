package screens

import (
	"fmt"
	"strconv"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/flows"
)

func timeboxForms() map[string]Form {
	return map[string]Form{
		"timebox.vote":   {May: answering(flows.StageTimebox), Fill: votedWeeks},
		"timebox.settle": {May: settles(flows.StageTimebox), Fill: settledTimebox},
	}
}

var timeboxActions = map[string]action{"timebox.vote": func(p Page) (flows.Intent, string) {
	return flows.VoteWeeks{By: by(p), Weeks: p.Args.N}, "Your vote is in: " + words.WeeksText(p.Args.N) + ". Choose again if you change your mind."
}}

// timeboxAsks asks for a vote on the weeks, beside the bot's proposal.
func timeboxAsks(p Page) (asking, error) {
	return asking{
		ask:     fmt.Sprintf("Say how many weeks this discovery should get; the plan comes to %s.", words.WeeksText(p.Kickoff.Timebox.Proposal.Weeks)),
		why:     "At its end we decide: build, stop, or another short time box. It is never left open.",
		minutes: 2,
		body:    proposalBlocks(p.Kickoff),
		picker:  weeksPicker(p),
	}, nil
}

// weeksPicker is the vote in the message itself: one choice needs no form.
func weeksPicker(p Page) slack.Block {
	args := stageArgs(p, flows.StageTimebox)
	options := weekOptions()
	for i := range options {
		args.N = i + 1
		options[i].Value = args.String()
	}
	return block.Picker("do/timebox.vote", "Choose the weeks", options)
}

// proposalBlocks shows why so many weeks are proposed.
func proposalBlocks(k flows.Kickoff) []slack.Block {
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
func weeksWords(k flows.Kickoff, weeks int) []slack.Block {
	plan := k.Schedule()
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
func timeboxResult(p Page) (Posting, error) {
	k := p.Kickoff
	t := k.Timebox
	if t.Weeks == 0 {
		return line(p, "The time box", "It is not set yet."), nil
	}
	blocks := []slack.Block{block.Heading("The time box: " + words.WeeksText(t.Weeks))}
	return Posting{
		Text: block.Escape(fmt.Sprintf("%s: the discovery gets %s, with a check-in each %s. It begins when the summary is out.",
			words.Clip(k.Brief.Title, 80), words.WeeksText(t.Weeks), t.Checkin)),
		Blocks: append(blocks, block.Drawn(report.Timebox(k))...),
	}, nil
}

// timeboxSettles asks the lead to set the time box.
func timeboxSettles(p Page) (settling, error) {
	k, t := p.Kickoff, p.Kickoff.Timebox
	until, waits := settlingIn(k, flows.StageTimebox)
	out := settling{title: "Set the time box"}
	switch {
	case waits && k.Stage == flows.StageTimebox:
	case t.Weeks == 0 || k.Window.Stage == flows.StageTimebox:
		return out.done("People are voting again.")
	default:
		return out.done(fmt.Sprintf("Done: %s, with a check-in each %s.", words.WeeksText(t.Weeks), t.Checkin))
	}
	weeks := words.WeeksText(k.ProposedWeeks())
	out.ask = fmt.Sprintf("please set the time box. The votes come to %s.", weeks)
	out.without, out.until = "Without you that stands from", until
	out.acts = []*slack.ButtonBlockElement{block.Primary(button("Set the Time Box", "open/timebox.settle", stageArgs(p, flows.StageTimebox)))}
	out.body = []slack.Block{
		block.Para(block.Plain("%s The plan came to %s. ", words.VotesText(t), words.WeeksText(t.Proposal.Weeks)), block.Styled(t.Proposal.Why, nil)),
	}
	out.body = append(out.body, weeksWords(k, k.ProposedWeeks())...)
	out.body = append(out.body,
		block.Text("Write down now what would make us stop and what would make us build. Later, everybody sees it beside the vote."),
		block.Para(block.Plain("If you do nothing, it will be %s with check-ins on Wednesday, from ", weeks), block.When(until), block.Plain(".")),
		block.Buttons(out.acts...))
	out.home = []block.Run{block.Plain("Please set the time box. The votes come to %s.", weeks)}
	return out, nil
}

func weekOptions() []block.Option { return block.Numbered(flows.MaxWeeks, words.WeeksText) }

func votedWeeks(p Page, f *block.Form) flows.Intent {
	f.Title, f.Submit = "How long?", "Vote"
	f.Add(proposalBlocks(p.Kickoff)...)
	weeks, _ := strconv.Atoi(f.Select("weeks", "How many weeks?", figureOf(p.Kickoff.Timebox.Votes[p.Viewer]), weekOptions()))
	return flows.VoteWeeks{By: by(p), Weeks: weeks}
}

func settledTimebox(p Page, f *block.Form) flows.Intent {
	t := p.Kickoff.Timebox
	stood, day := p.Kickoff.ProposedWeeks(), time.Wednesday
	if t.Weeks > 0 { // set once already, and reopened
		stood, day = t.Weeks, t.Checkin
	}
	f.Title, f.Submit = "Set the time box", "Set It"
	f.Add(block.Para(block.Styled(words.VotesText(t), nil)))
	weeks, _ := strconv.Atoi(f.Select("weeks", "Weeks", strconv.Itoa(stood), weekOptions()))
	checkin, err := strconv.Atoi(f.Select("checkin", "Check-in day", strconv.Itoa(int(day)), weekdayOptions()))
	if err != nil {
		f.Fault("checkin", "Choose a day of the week for the check-ins.")
	}
	return flows.SetTimebox{ByLead: byLead(p), Weeks: weeks, Checkin: time.Weekday(checkin),
		StopIf: f.Text("stop_if", "We stop if …", t.StopIf, block.Optional,
			block.Hint("What would we have to find to give this up? Name figures where you can.")),
		BuildIf: f.Text("build_if", "We build if …", t.BuildIf, block.Optional,
			block.Hint("What would be enough to go ahead? Written now, it binds us more than it would later."))}
}

// weekdayOptions begin on Monday; their values are Go's weekday numbers.
func weekdayOptions() []block.Option {
	var options []block.Option
	for i := range 7 {
		day := time.Weekday((i + 1) % 7)
		options = append(options, block.Option{Value: strconv.Itoa(int(day)), Text: day.String()})
	}
	return options
}
