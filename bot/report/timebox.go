package report

import (
	"fmt"
	"strings"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/tally"
)

// timeboxBlocks is the time box with its reasons and the plan week by week.
func timeboxBlocks(k state.Kickoff) []Block {
	if k.Timebox.Weeks == 0 {
		return []Block{para("It is not set yet.")}
	}
	return append(append(Timebox(k), Marks(k)...), TimeboxReasons(k)...)
}

// weeksText: "4 weeks and 2 more".
func weeksText(t state.Timebox) string {
	weeks := words.WeeksText(t.Weeks)
	for _, more := range t.Renewals {
		weeks += fmt.Sprintf(" and %d more", more)
	}
	return weeks
}

// Timebox is the time box as it was set, in three sentences, and what it leaves
// untested.
func Timebox(k state.Kickoff) []Block {
	t := k.Timebox
	blocks := []Block{Para(boxText(k))}
	if short := words.ShortBox(tally.Schedule(&k), t.Weeks); short != "" && len(t.Renewals) == 0 {
		blocks = append(blocks, para("%s", short))
	}
	return blocks
}

// TimeboxReasons say why the time box is as long as it is: the votes, what people expect,
// and the plan week by week.
func TimeboxReasons(k state.Kickoff) []Block {
	blocks := []Block{para("%s", words.VotesText(k.Timebox))}
	for _, text := range words.Proposed(k.Timebox) {
		blocks = append(blocks, para("%s", text))
	}
	if bars := Bars(k, flows.MaxWeeks); bars != "" {
		blocks = append(blocks, para("How many of the assumptions to test first should have a first result:"), bars)
	}
	return blocks
}

// boxText says how long the box is, until when, and who set it.
func boxText(k state.Kickoff) Text {
	t := k.Timebox
	began := say("It began on %s and ends on %s.", day(t.Starts), day(t.Ends))
	switch {
	case t.Ends.IsZero():
		began = say("It begins when the summary is out.")
	case k.Stage == state.StageEnded:
		began = say("It began on %s and was to end on %s.", day(t.Starts), day(t.Ends))
	}
	set := say("Nobody set it in time, so what the votes came to stands.")
	if median, _ := t.Spread(); !median.Defined() {
		set = say("Nobody set it in time, so what was proposed stands.")
	}
	if t.SetBy != "" {
		set = say("Set by %s.", clip(k.Name(t.SetBy), 60))
	}
	return say("**%s**, with a check-in each %s. %s %s", weeksText(t), t.Checkin, began, set)
}

// Marks set out what was written down before anybody knew, and underway what is
// known of it by now.
func Marks(k state.Kickoff) []Block {
	var blocks []Block
	for _, m := range state.Marks(&k) {
		head := say("**We stop if**")
		if m.Build {
			head = say("**We build if**")
		}
		switch {
		case m.Text == "":
		case !k.Timebox.Starts.IsZero():
			head = say("%s (**%s**%s)", head, string(m.State), onText(k, m))
		case m.On == "":
			head = say("%s (not tested: people will judge it)", head)
		default:
			head = say("%s (%s will tell)", head, teller(k, m.On))
		}
		blocks = append(blocks, Para(head), quote(beforehand(m.Text), 900))
	}
	return blocks
}

// onText says why a mark stands as it does: ", by A1".
func onText(k state.Kickoff, m state.Mark) Text {
	if m.On == "" {
		return say(", since no test tells")
	}
	return say(", by %s", teller(k, m.On))
}

// teller is what a mark hangs on: an assumption, or a test by its name, since the numbers
// of tests stand nowhere that people look.
func teller(k state.Kickoff, on string) Text {
	for _, t := range k.Backlog.Tests {
		if state.TestOn(t.N) == on {
			return say("the test “%s” of %s", clip(t.Method, 40), t.Assumption)
		}
	}
	return say("%s", on)
}

// beforehand is what was written down, or that nothing was.
func beforehand(text string) string {
	if text == "" {
		return "Nothing was written down."
	}
	return text
}

// Bars draw the plan, at most so many weeks of it; none when nothing is to be
// tested first. A time box has twelve weeks at most, so a message shows no
// more.
func Bars(k state.Kickoff, most int) Code {
	return Code(strings.Join(words.FirstOf(engine.Bars(tally.Schedule(&k)), most), "\n"))
}
