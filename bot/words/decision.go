package words

import (
	"fmt"
	"strings"

	"soundings/engine"
	"soundings/flows/state"
)

// ChoiceText names one of the ways in which a time box can end.
func ChoiceText(c state.Choice, weeks int) string {
	if c == state.Another {
		return fmt.Sprintf("another time box of %s", Count(weeks, "week", "weeks"))
	}
	if c == "" {
		return "none" // the kickoff was left
	}
	return string(c)
}

// EndText says how a kickoff ended, a sentence or two.
func EndText(k state.Kickoff) string {
	d := k.Underway.Decision
	switch {
	case k.CalledOff.Why != "":
		return "It was called off."
	case state.EndedWithSummary(&k):
		return "The kickoff has ended with its summary. It has no time box."
	case d.Set == "":
		return "It has ended without a decision."
	}
	return fmt.Sprintf("It has ended. The decision: %s.", ChoiceText(d.Set, d.Weeks))
}

// Tally counts the votes: "7 for build, 2 for another time box of 2 weeks".
// Nobody's own vote is named.
func Tally(d state.Decision) string { return votesFor(d.Tally()) }

// RingsTally is the same by ring, in sentences that follow one: " The core team: 3 for
// build, 1 for stop. The others: 4 for build." It is empty where that is not told.
func RingsTally(d state.Decision) string {
	if d.Counted == nil || d.Counted.Core == nil {
		return ""
	}
	return fmt.Sprintf(" The core team: %s. The others: %s.", votesFor(d.Counted.Core), votesFor(d.Counted.OthersTally()))
}

func votesFor(votes []state.ChoiceCount) string {
	counts, other := map[state.DecisionVote]int{}, 0
	for _, c := range votes {
		counts[c.DecisionVote] = c.N
		other += c.N
	}
	var parts []string
	for _, choice := range offered() {
		n := counts[choice]
		if other -= n; n > 0 {
			parts = append(parts, fmt.Sprintf("%d for %s", n, ChoiceText(choice.Choice, choice.Weeks)))
		}
	}
	if other > 0 { // voted by other means than our buttons
		parts = append(parts, fmt.Sprintf("%d for a time box of another length", other))
	}
	if len(parts) == 0 {
		return "Nobody voted"
	}
	return strings.Join(parts, ", ")
}

// offered are the choices that have a button, in their order.
func offered() []state.DecisionVote {
	all := []state.DecisionVote{{Choice: state.Build}, {Choice: state.Stop}}
	for _, weeks := range engine.Renewals() {
		all = append(all, state.DecisionVote{Choice: state.Another, Weeks: weeks})
	}
	return all
}
