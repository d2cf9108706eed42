package screens

import (
	"fmt"
	"strings"
	"time"

	"soundings/engine"
	"soundings/flows"
	"soundings/flows/guide"
)

// summaryFile is the whole kickoff as one page of Markdown: enough for
// somebody who missed everything.
func summaryFile(k flows.Kickoff) (File, error) {
	m := &markdown{}
	m.title(1, k.Brief.Title)
	for _, section := range []func(*markdown, flows.Kickoff){
		mdHead, mdProblem, mdLadder, mdRoles, mdMap, mdBacklog, mdTimebox, mdQuestions, mdActions, mdUnderway, mdNotes,
	} {
		section(m, k)
	}
	return File{Name: "summary.md", Title: "The summary", Data: []byte(m.String())}, nil
}

// markdown writes Markdown in which whatever people typed is text.
type markdown struct{ strings.Builder }

func (m *markdown) title(level int, text string) {
	fmt.Fprintf(m, "%s %s\n\n", strings.Repeat("#", level), inline(text))
}

func (m *markdown) line(format string, args ...any) { fmt.Fprintf(m, format+"\n", args...) }

func (m *markdown) para(format string, args ...any) { fmt.Fprintf(m, format+"\n\n", args...) }

// quote sets somebody's text apart, line by line.
func (m *markdown) quote(text string) {
	for _, l := range strings.Split(text, "\n") {
		m.line("> %s  ", inline(l))
	}
	m.line("")
}

// table writes a table; its cells are Markdown already.
func (m *markdown) table(head []string, rows [][]string) {
	m.line("| %s |", strings.Join(head, " | "))
	m.line("|%s", strings.Repeat(" --- |", len(head)))
	for _, row := range rows {
		m.line("| %s |", strings.Join(row, " | "))
	}
	m.line("")
}

// inline makes typed text safe within a line of Markdown: every character
// that could mean something is escaped, and line breaks become breaks.
func inline(text string) string {
	var b strings.Builder
	text = contained(strings.ReplaceAll(text, "\r\n", "\n"))
	for _, r := range text {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			b.WriteString("<br>")
		case strings.ContainsRune("\\`*_[]|~#$@", r):
			b.WriteByte('\\')
			b.WriteRune(r)
		default:
			b.WriteRune(r)
		}
	}
	return guardStart(b.String())
}

// guardStart keeps a line from turning into a list, a rule or a heading.
func guardStart(s string) string {
	trimmed := strings.TrimLeft(s, " \t")
	lead := s[:len(s)-len(trimmed)]
	if trimmed == "" {
		return s
	}
	if strings.ContainsRune("-+=", rune(trimmed[0])) {
		return lead + "\\" + trimmed
	}
	digits := len(trimmed) - len(strings.TrimLeft(trimmed, "0123456789"))
	if digits > 0 && digits < len(trimmed) && strings.ContainsRune(".)", rune(trimmed[digits])) {
		return lead + trimmed[:digits] + "\\" + trimmed[digits:]
	}
	return s
}

func mdHead(m *markdown, k flows.Kickoff) {
	lead := inline(k.Name(k.Lead().ID))
	if k.Timebox.Starts.IsZero() {
		m.para("The kickoff of a product discovery, led by %s. It is not finished: stage “%s”.", lead, k.Stage)
		return
	}
	m.para("A product discovery, led by %s, from %s to %s: a time box of %s.", lead, longDay(k, k.Timebox.Starts),
		longDay(k, k.Timebox.Ends), count(k.Timebox.Weeks, "week", "weeks"))
	if d := k.Underway.Decision; d.Set != "" {
		m.para("**It has ended: %s**, decided on %s.", choiceText(d.Set, d.Weeks), longDay(k, d.At))
	}
	m.para("%s", inShort(k))
}

// inShort says in a sentence or two what comes first and why.
func inShort(k flows.Kickoff) string {
	first := k.InZone(engine.TestFirst)
	if len(first) == 0 {
		return "No assumption is both important and poorly evidenced, so nothing has to be tested before the rest."
	}
	a, _ := k.Assumption(first[0])
	matter := fmt.Sprintf("%d assumptions matter most and rest on the least evidence, so they are tested first. At the top of the list", len(first))
	if len(first) == 1 {
		matter = "One assumption matters most and rests on the least evidence, so it is tested first"
	}
	return fmt.Sprintf("%s: %s, “%s”", matter, first[0], inline(a.Text))
}

func longDay(k flows.Kickoff, t time.Time) string {
	return t.In(k.Lead().Hours().Zone).Format("Monday 2 January 2006")
}

func mdProblem(m *markdown, k flows.Kickoff) {
	m.title(2, "The problem")
	m.lead(k, "problem")
	m.quote(k.Problem())
	if k.Problem() != k.Brief.Problem {
		m.para("It began as:")
		m.quote(k.Brief.Problem)
	}
	for _, part := range [][2]string{{"Why now", k.Brief.Why}, {"The outcome hoped for", k.Brief.Outcome}, {"Out of bounds", k.Brief.OutOfBounds}} {
		if part[1] != "" {
			m.para("**%s:** %s", part[0], inline(part[1]))
		}
	}
	for _, l := range k.Brief.Links {
		m.line("- %s", inline(l))
	}
	if len(k.Brief.Links) > 0 {
		m.line("")
	}
}

func mdLadder(m *markdown, k flows.Kickoff) {
	m.title(2, "How it moved on the ladder")
	l := k.Framing.Level
	if l.N == 0 {
		m.para("Nobody chose a level; the problem stands where it began.")
	} else {
		m.para("%s chose a level from +2 (broader) to -2 (narrower). Median %s, middle half of the answers spread over %s. %sThe discovery works at level %s%s.",
			count(l.N, "person", "people"), number(l.Median), number(l.IQR), halfStepText(l), rungText(k.Framing.AtLevel), settledBy(k, k.Framing.SettledBy))
	}
	var rows [][]string
	ticks := k.Framing.Ticks()
	for _, n := range rungs(k) {
		rows = append(rows, []string{rungText(k.Framing.LevelOf(n)), inline(k.WordingText(n)), wordingBy(k, n), fmt.Sprint(ticks[n])})
	}
	m.table([]string{"Level", "Wording", "From", "Could live with it"}, rows)
	if text := draftsText(k); text != "" {
		m.para("%s", text)
	}
}

func halfStepText(l engine.LadderLevel) string {
	if l.HalfStep {
		return "The median lay between two levels; the narrower one counts. "
	}
	return ""
}

func settledBy(k flows.Kickoff, u flows.UserID) string {
	if u == "" {
		return ", as proposed, since nobody objected in time"
	}
	return ", settled by " + inline(k.Name(u))
}

// rungText is a level with its sign; the middle has none.
func rungText(level int) string {
	if level == 0 {
		return "0"
	}
	return fmt.Sprintf("%+d", level)
}

func wordingBy(k flows.Kickoff, n int) string {
	if n == flows.Original {
		return "the brief"
	}
	w := k.Framing.Wordings[n-1]
	switch {
	case w.Drafted:
		return inline(k.Name(w.By)) + " (drafted by machine)"
	case w.Began:
		return inline(k.Name(w.By)) + " (began as a machine's draft, changed since)"
	}
	return inline(k.Name(w.By))
}

func mdRoles(m *markdown, k flows.Kickoff) {
	m.title(2, "Who does what")
	m.lead(k, "roles")
	if k.Roles.Skipped {
		m.para("The rings were not asked about in this kickoff.")
		return
	}
	r := rolesOf(k)
	ring := func(name, means string, people []string) {
		if len(people) == 0 {
			m.line("- **%s** (%s): nobody", name, means)
			return
		}
		texts := make([]string, len(people))
		for i, p := range people {
			texts[i] = inline(p)
			if d, ok := r.Days[p]; ok && name == "Core team" {
				texts[i] += fmt.Sprintf(" (%s a week)", days(d))
			}
		}
		m.line("- **%s** (%s): %s", name, means, strings.Join(texts, ", "))
	}
	ring("Core team", "does the work", r.Core)
	ring("Consulted", "asked before decisions", r.Consulted)
	ring("Informed", "told how it goes", r.Informed)
	if len(r.Unplaced) > 0 {
		ring("Not placed", "did not say", r.Unplaced)
	}
	for _, missing := range r.Missing {
		m.line("- Missing so far: %s, expected as %s", inline(missing.Name), ringText(flows.Ring(missing.Ring)))
	}
	m.line("")
}

func mdMap(m *markdown, k flows.Kickoff) {
	m.title(2, "What we assume, in test order")
	m.lead(k, "map")
	r := k.Map()
	if r == nil {
		m.para("Nothing was rated.")
		return
	}
	m.para("%s rated importance and evidence from 1 to 9, each alone and unseen. The middle half of the ratings stands in brackets. The map is relative: high and low mean high and low among these assumptions, so two maps cannot be compared by number.",
		count(r.Raters, "person", "people"))
	var rows [][]string
	for _, id := range r.Order {
		a, _ := k.Assumption(id)
		s, _ := k.Scored(id)
		rows = append(rows, []string{rankText(s.Rank), id, inline(a.Text), zoneText(s.Zone), spreadText(s.Importance), spreadText(s.Evidence), agreementText(s), kindText(k, id)})
	}
	m.table([]string{"Rank", "Id", "Assumption", "Zone", "Importance", "Evidence", "How far apart", "Risk"}, rows)
	mdReasons(m, k)
}

func agreementText(s engine.AssumptionScore) string {
	var words []string
	if s.Importance.Agreement != "" {
		words = append(words, "importance "+string(s.Importance.Agreement))
	}
	if s.Evidence.Agreement != "" {
		words = append(words, "evidence "+string(s.Evidence.Agreement))
	}
	if s.Thin {
		words = append(words, "thin: few ratings")
	}
	return strings.Join(words, ", ")
}

func mdReasons(m *markdown, k flows.Kickoff) {
	for _, id := range k.Order() {
		a, _ := k.Assumption(id)
		var reasons []string
		for _, r := range k.Reasons {
			if r.Assumption == id {
				reasons = append(reasons, "- said in the talk about it: "+inline(r.Text))
			}
		}
		if gist, ok := k.Gists[id]; ok {
			reasons = append(reasons, "- the reasons without a name, in short"+mdMachine(gist.Drafted)+": "+inline(gist.Text))
		}
		if a.Because == "" && len(a.Wordings) == 0 && len(reasons) == 0 && !a.Drafted {
			continue
		}
		m.line("**%s**", id)
		m.line("")
		if a.Drafted {
			m.line("- its words are a machine's draft, unedited")
		}
		if a.Because != "" {
			m.line("- because: %s", inline(a.Because))
		}
		for _, w := range a.Wordings {
			m.line("- joined to it: %s", inline(w))
		}
		for _, r := range reasons {
			m.line("%s", r)
		}
		m.line("")
	}
}

func mdBacklog(m *markdown, k flows.Kickoff) {
	m.title(2, "What we test, and how")
	m.lead(k, "backlog")
	var rows [][]string
	untested := []string{}
	for _, id := range k.Order() {
		tests := k.TestsOf(id)
		if s, ok := k.Scored(id); ok && s.Zone == engine.TestFirst && len(tests) == 0 {
			untested = append(untested, id)
		}
		for _, t := range tests {
			rows = append(rows, []string{id, kindText(k, id), inline(t.Method), inline(t.Learn), passText(t), ownerText(k, t), effortText(t)})
		}
	}
	if len(rows) == 0 {
		m.para("No test has been planned yet.")
	} else {
		m.table([]string{"Assumption", "Risk", "Test", "What we learn", "Counts as support", "Owner", "Effort"}, rows)
	}
	if len(untested) > 0 {
		m.para("Still without a test, though they come first: %s.", strings.Join(untested, ", "))
	}
	if len(rows) > 0 {
		m.para("%s", guide.Caution)
	}
}

func passText(t flows.Test) string {
	size := ""
	if t.Size > 0 {
		size = fmt.Sprintf(" of %d", t.Size)
	}
	if t.PassShare == 0 {
		return "no pass mark yet" + size
	}
	return fmt.Sprintf("at least %s %%%s", number(engine.Figure(t.PassShare*100)), size)
}

func ownerText(k flows.Kickoff, t flows.Test) string {
	if t.Owner == "" {
		return "no owner yet"
	}
	return inline(k.Name(t.Owner))
}

// mdMachine says of a text that it is a machine's draft.
func mdMachine(drafted bool) string {
	if drafted {
		return " (a machine's draft)"
	}
	return ""
}
