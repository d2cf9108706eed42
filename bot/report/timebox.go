package report

import (
	"fmt"
	"strings"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
)

// timeboxBlocks is the time box with its reasons and the plan week by week.
// The canvas has neither.
func timeboxBlocks(k flows.Kickoff, f form) []Block {
	t := k.Timebox
	switch {
	case t.Weeks == 0:
		return []Block{Para(say("It is not set yet."))}
	case f == inThread:
		blocks := Timebox(k)
		if bars := Bars(k, flows.MaxWeeks); bars != "" {
			blocks = append(blocks, Para(say("How many of the assumptions to test first should have a first result:")), bars)
		}
		return blocks
	}
	weeks, nothing := words.WeeksText(t.Weeks), "not written down"
	if f == onCanvas {
		weeks, nothing = weeksText(t), Beforehand("")
	}
	items := []Text{say("**%s**, with a check-in each %s", weeks, t.Checkin)}
	if !t.Starts.IsZero() {
		items = append(items, say("from %s to %s", day(t.Starts), day(t.Ends)))
	}
	if f == inFile {
		items = append(items, say("proposed: %s. %s", words.WeeksText(t.Proposal.Weeks), f.typed(t.Proposal.Why, 0, 0)))
	}
	if f == inFile && len(t.Votes) > 0 {
		items = append(items, say("voted: median %s weeks, the middle half spread over %s (%s)", words.Number(t.Median), words.Number(t.IQR), words.Count(len(t.Votes), "vote", "votes")))
	}
	blocks := []Block{List{Items: append(items, f.marks(t, nothing)...)}}
	if bars := Bars(k, all); bars != "" && f == inFile {
		blocks = append(blocks, Para(say("How much of what comes first would have a first result:")), bars)
	}
	return blocks
}

// marks are what was written down beforehand, as items of a list.
func (f form) marks(t flows.Timebox, nothing string) []Text {
	text := func(typed string) Text {
		if typed == "" {
			return say(nothing)
		}
		return f.typed(typed, all, all)
	}
	return []Text{say("**We stop if:** %s", text(t.StopIf)), say("**We build if:** %s", text(t.BuildIf))}
}

// weeksText: "4 weeks and 2 more".
func weeksText(t flows.Timebox) string {
	weeks := words.WeeksText(t.Weeks)
	for _, more := range t.Renewals {
		weeks += fmt.Sprintf(" and %d more", more)
	}
	return weeks
}

// Timebox is the time box as it was set, as it stands in a thread.
func Timebox(k flows.Kickoff) []Block {
	t := k.Timebox
	blocks := []Block{Para(boxText(k)), Para(say("%s The plan came to %s. %s", words.VotesText(t), words.WeeksText(t.Proposal.Weeks), t.Proposal.Why))}
	return append(blocks, Marks(t)...)
}

// boxText says how long the box is, until when, and who set it.
func boxText(k flows.Kickoff) Text {
	t := k.Timebox
	began := say("It began on %s and ends on %s.", day(t.Starts), day(t.Ends))
	switch {
	case t.Ends.IsZero():
		began = say("It begins when the summary is out.")
	case k.Stage == flows.StageEnded:
		began = say("It began on %s and was to end on %s.", day(t.Starts), day(t.Ends))
	}
	set := say("Nobody set it in time, so what the votes came to stands.")
	if t.SetBy != "" {
		set = say("Set by %s.", inThread.typed(k.Name(t.SetBy), 60, 0))
	}
	return say("**%s**, with a check-in each %s. %s %s", weeksText(t), t.Checkin, began, set)
}

// Marks set out what was written down before anybody knew.
func Marks(t flows.Timebox) []Block {
	return []Block{Para(say("**We stop if**")), inThread.quote(Beforehand(t.StopIf), 900), Para(say("**We build if**")), inThread.quote(Beforehand(t.BuildIf), 900)}
}

// Beforehand is what was written down, or that nothing was.
func Beforehand(text string) string {
	if text == "" {
		return "Nothing was written down."
	}
	return text
}

// Bars draw the plan, at most so many weeks of it; none when nothing is to be
// tested first. A time box has twelve weeks at most, so a message shows no
// more.
func Bars(k flows.Kickoff, most int) Code {
	return Code(strings.Join(words.FirstOf(engine.Bars(k.Schedule()), most), "\n"))
}

func timeboxGist(k flows.Kickoff) string {
	return fmt.Sprintf("%s, with a check-in each %s", words.WeeksText(k.Timebox.Weeks), k.Timebox.Checkin)
}
