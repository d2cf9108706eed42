package screens

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/engine"
	"soundings/flows"
)

// The second half of the summary page: the time box and what came after.

func mdTimebox(m *markdown, k flows.Kickoff) {
	m.title(2, "The time box")
	m.lead(k, "timebox")
	t := k.Timebox
	if t.Weeks == 0 {
		m.para("It is not set yet.")
		return
	}
	m.line("- **%s**, with a check-in each %s", count(t.Weeks, "week", "weeks"), t.Checkin)
	if !t.Starts.IsZero() {
		m.line("- from %s to %s", longDay(k, t.Starts), longDay(k, t.Ends))
	}
	m.line("- proposed: %s. %s", count(t.Proposal.Weeks, "week", "weeks"), inline(t.Proposal.Why))
	if len(t.Votes) > 0 {
		m.line("- voted: median %s weeks, the middle half spread over %s (%s)", number(t.Median), number(t.IQR), count(len(t.Votes), "vote", "votes"))
	}
	m.line("- **We stop if:** %s", orNotWritten(t.StopIf))
	m.line("- **We build if:** %s", orNotWritten(t.BuildIf))
	m.line("")
	if bars := weekBars(k); bars != "" {
		m.para("How much of what comes first would have a first result:")
		m.para("```\n%s\n```", bars)
	}
}

func orNotWritten(text string) string {
	if text == "" {
		return "not written down"
	}
	return inline(text)
}

func mdQuestions(m *markdown, k flows.Kickoff) {
	m.title(2, "Questions")
	m.lead(k, "questions")
	open := k.Brief.OpenQuestions()
	if len(open) == 0 {
		m.para("None is open.")
	}
	for _, q := range open {
		m.line("- **Open:** %s (asked by %s)", inline(q.Ask), inline(k.Name(q.By)))
	}
	for _, q := range k.Brief.Questions {
		if q.Answer != "" {
			m.line("- %s (asked by %s)<br>%s: %s", inline(q.Ask), inline(k.Name(q.By)), inline(k.Name(q.Answered)), inline(q.Answer))
		}
	}
	m.line("")
}

func mdActions(m *markdown, k flows.Kickoff) {
	m.title(2, "Who does what next")
	m.lead(k, "actions")
	if len(k.StandingActions()) == 0 {
		m.para("No action was noted.")
		return
	}
	var rows [][]string
	for _, a := range k.StandingActions() {
		rows = append(rows, []string{inline(a.What), inline(k.Name(a.Owner)), dayText(a.Due)})
	}
	m.table([]string{"What", "Who", "Until"}, rows)
}

func dayText(d flows.LocalDay) string {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return string(d)
	}
	return t.Format("Monday 2 January 2006")
}

func mdUnderway(m *markdown, k flows.Kickoff) {
	if len(k.Underway.Checkins) == 0 && k.Underway.Decision.Set == "" {
		return
	}
	m.title(2, "What we have found so far")
	for _, c := range k.Underway.Checkins {
		mdCheckin(m, k, c)
	}
	mdDecision(m, k)
}

func mdCheckin(m *markdown, k flows.Kickoff, c flows.Checkin) {
	m.line("**Check-in %d, %s**", c.N, longDay(k, c.Opened))
	m.line("")
	for _, r := range c.Results {
		t, _ := k.Test(r.Test)
		m.line("- %s, %s: %d of %d: %s", t.Assumption, inline(t.Method), r.K, r.N, engine.Judge(r.K, r.N, t.PassShare).Verdict)
	}
	for _, move := range c.Moved {
		m.line("- %s: %s", move.Assumption, moveText(move, k.VerdictOf(move.Assumption)))
	}
	if median, _ := c.ConfidenceSpread(); median.Defined() {
		m.line("- confidence in the whole: median %s of 9 (%s)", number(median), count(len(c.Confidence), "vote", "votes"))
	}
	m.line("")
}

func mdDecision(m *markdown, k flows.Kickoff) {
	d := k.Underway.Decision
	if d.Set == "" {
		return
	}
	m.line("**The decision: %s**", choiceText(d.Set, d.Weeks))
	m.line("")
	m.para("%s.", voteText(d))
	m.line("Written down beforehand:")
	m.line("")
	m.line("- **We stop if:** %s", orNotWritten(k.Timebox.StopIf))
	m.line("- **We build if:** %s", orNotWritten(k.Timebox.BuildIf))
	m.line("")
	m.para("How well did we guess? %s", inline(k.Calibration().Sentence))
}

// voteText counts the choices: "7 for build, 2 for another time box".
func voteText(d flows.Decision) string {
	counts := map[string]int{}
	for _, v := range d.Votes {
		counts[choiceText(v.Choice, v.Weeks)]++
	}
	var parts []string
	for text, n := range counts {
		parts = append(parts, fmt.Sprintf("%d for %s", n, text))
	}
	slices.SortFunc(parts, func(a, b string) int { return strings.Compare(b, a) })
	if len(parts) == 0 {
		return "Nobody voted"
	}
	return strings.Join(parts, ", ")
}

func mdNotes(m *markdown, k flows.Kickoff) {
	thin := thinStages(k)
	if len(thin) == 0 {
		return
	}
	m.title(2, "To be read with care")
	m.para("Fewer than half of those asked were heard in: %s.", strings.Join(thin, ", "))
}

// weekBars draws the share of test-first assumptions with a first result,
// week by week.
func weekBars(k flows.Kickoff) string {
	if len(k.InZone(engine.TestFirst)) == 0 {
		return ""
	}
	return strings.Join(engine.Bars(k.Schedule()), "\n")
}
