package words

import (
	"fmt"
	"strings"

	"soundings/engine"
	"soundings/flows"
)

// Number writes a figure shortly: 6, 6.5, or a dash where there is none.
func Number(f engine.Figure) string {
	if !f.Defined() {
		return "–"
	}
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", float64(f)), "0"), ".")
}

// Days writes a number of days that may be broken: "1 day", "2.5 days".
func Days(d float64) string {
	if d == 1 {
		return "1 day"
	}
	return Number(engine.Figure(d)) + " days"
}

// WeeksText: "1 week", "4 weeks".
func WeeksText(n int) string { return Count(n, "week", "weeks") }

// RankText is a place in the test order, or a dash where there is none.
func RankText(p engine.Place) string {
	if p == 0 {
		return "–"
	}
	return fmt.Sprint(int(p))
}

// SpreadText is a median with the middle half of the ratings: "8 (7 to 9)".
func SpreadText(s engine.Spread) string {
	if s.N == 0 {
		return "not rated"
	}
	return fmt.Sprintf("%s (%s to %s)", Number(s.Median), Number(s.Q1), Number(s.Q3))
}

// VotesText is what the votes on the time box came to.
func VotesText(t flows.Timebox) string {
	if len(t.Votes) == 0 || !t.Median.Defined() {
		return "Nobody voted."
	}
	return fmt.Sprintf("Votes: median %s; the middle half of %s spans %s.", WeeksFigure(t.Median),
		Count(len(t.Votes), "vote", "votes"), WeeksFigure(t.IQR))
}

// WeeksFigure is a number of weeks that may be broken: "1.5 weeks".
func WeeksFigure(f engine.Figure) string {
	if f == 1 {
		return "1 week"
	}
	return Number(f) + " weeks"
}
