package words

import (
	"fmt"
	"strings"

	"soundings/engine"
	"soundings/flows"
)

// ChoiceText names one of the ways in which a time box can end.
func ChoiceText(c flows.Choice, weeks int) string {
	if c == flows.Another {
		return fmt.Sprintf("another time box of %s", Count(weeks, "week", "weeks"))
	}
	if c == "" {
		return "none" // the kickoff was left
	}
	return string(c)
}

// Tally counts the votes: "7 for build, 2 for another time box of 2 weeks".
// Nobody's own vote is named.
func Tally(d flows.Decision) string {
	var parts []string
	counted := 0
	for _, choice := range offered() {
		n := 0
		for _, v := range d.Votes {
			if v == choice {
				n++
			}
		}
		if counted += n; n > 0 {
			parts = append(parts, fmt.Sprintf("%d for %s", n, ChoiceText(choice.Choice, choice.Weeks)))
		}
	}
	if other := len(d.Votes) - counted; other > 0 { // voted by other means than our buttons
		parts = append(parts, fmt.Sprintf("%d for a time box of another length", other))
	}
	if len(parts) == 0 {
		return "Nobody voted"
	}
	return strings.Join(parts, ", ")
}

// offered are the choices that have a button, in their order.
func offered() []flows.DecisionVote {
	all := []flows.DecisionVote{{Choice: flows.Build}, {Choice: flows.Stop}}
	for _, weeks := range engine.Renewals() {
		all = append(all, flows.DecisionVote{Choice: flows.Another, Weeks: weeks})
	}
	return all
}
