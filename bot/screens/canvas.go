package screens

import (
	"fmt"
	"strings"

	"soundings/engine"
	"soundings/flows"
)

// A CanvasPage is the summary as a page of the channel.
type CanvasPage struct {
	Title    string // plain text
	Markdown string // at most LongestCanvas characters
}

// LongestCanvas is the most characters that a canvas takes. Source: the
// platform's page on conversations.canvases.create.
const LongestCanvas = 1 << 20

// How much of each list stands on the canvas; the files hold all of it.
const (
	canvasAssumptions = 60
	canvasTests       = 60
	canvasFew         = 30
)

// BookmarkTitle is what the link to the summary is called in the channel's
// header.
func BookmarkTitle(k flows.Kickoff) string { return "Summary: " + contained(clip(k.Brief.Title, 60)) }

// Canvas is the summary to be read on a phone: lists and no tables, each thing
// once. It says nothing that changes by the day, so that it stays true between
// check-ins.
func Canvas(k flows.Kickoff) CanvasPage {
	m := &markdown{}
	for _, section := range []func(*markdown, flows.Kickoff){
		canvasHead, canvasProblem, canvasFound, canvasMap, canvasTestsSection, canvasBox, canvasRoles, canvasQuestions, canvasActions, canvasFoot,
	} {
		section(m, k)
	}
	return CanvasPage{Title: contained(clip(k.Brief.Title, 100)) + ": the summary", Markdown: m.String()}
}

// onPage makes typed text safe within a line of a canvas, which knows no HTML:
// whatever could mean something is escaped, the brackets of a mention
// ("![](@U…)") above all, and line breaks become spaces.
func onPage(text string) string {
	var b strings.Builder
	for _, r := range contained(strings.Join(strings.Fields(text), " ")) {
		if strings.ContainsRune("\\`*_[]|~#<>@&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return guardStart(b.String())
}

// aside is typed text, cut to what a list can hold.
func aside(text string, longest int) string { return onPage(clip(text, longest)) }

// word is what a lead says about a part.
func (m *markdown) word(k flows.Kickoff, part string) {
	if w, said := k.Summary.Words[part]; said {
		m.para("**A word from %s, who leads:** %s", aside(k.Name(w.By), 60), onPage(w.Text))
	}
}

// more says what a list leaves out.
func (m *markdown) more(all, shown int) {
	if left := all - shown; left > 0 {
		m.line("- and %d more, in the files of the summary", left)
	}
	m.line("")
}

func canvasHead(m *markdown, k flows.Kickoff) {
	m.para("A product discovery led by %s.", aside(k.Lead().Name, 60))
	if d := k.Underway.Decision; k.Stage == flows.StageEnded {
		m.para("**It has ended: %s.** %s. Decided on %s.", choiceText(d.Set, d.Weeks), tally(d), longDay(k, d.At))
	}
}

func canvasProblem(m *markdown, k flows.Kickoff) {
	m.title(2, "The problem")
	m.word(k, "problem")
	for _, l := range strings.Split(k.Problem(), "\n") {
		if l = strings.TrimSpace(l); l != "" {
			m.line("> %s", onPage(l))
		}
	}
	m.line("")
	for _, part := range [][2]string{{"Why now", k.Brief.Why}, {"The outcome hoped for", k.Brief.Outcome}, {"Out of bounds", k.Brief.OutOfBounds}} {
		if part[1] != "" {
			m.para("**%s:** %s", part[0], onPage(part[1]))
		}
	}
	for _, l := range firstOf(k.Brief.Links, canvasFew) {
		m.line("- %s", onPage(l))
	}
	if len(k.Brief.Links) > 0 {
		m.more(len(k.Brief.Links), canvasFew)
	}
}

// canvasFound is what the check-ins have brought so far, the newest last.
func canvasFound(m *markdown, k flows.Kickoff) {
	var closed []flows.Checkin
	for _, c := range k.Underway.Checkins {
		if !c.Closed.IsZero() {
			closed = append(closed, c)
		}
	}
	if len(closed) == 0 {
		return
	}
	m.title(2, "What we have found")
	m.para("%s %s", testedText(k.Progress(closed[len(closed)-1].Closed)), foundText(k))
	for _, c := range closed {
		m.line("### Check-in %d, %s", c.N, longDay(k, c.Opened))
		m.line("")
		for _, r := range firstOf(c.Results, canvasFew) {
			t, _ := k.Test(r.Test)
			m.line("- %s, %s: %s", t.Assumption, aside(t.Method, 100), findingText(engine.Judge(r.K, r.N, t.PassShare)))
		}
		for _, move := range firstOf(c.Moved, canvasFew) {
			m.line("- %s: %s", move.Assumption, moveText(move, k.VerdictOf(move.Assumption)))
		}
		m.line("- %s", confidenceMove(k, c))
		m.line("")
	}
	if k.Stage == flows.StageEnded {
		m.para("How well did we guess? %s", onPage(k.Calibration().Sentence))
	}
}

func canvasMap(m *markdown, k flows.Kickoff) {
	m.title(2, "What we assume, in test order")
	m.word(k, "map")
	r := k.Map()
	if r == nil {
		m.para("Nothing was rated.")
		return
	}
	m.para("Importance and evidence are medians, from 1 to 9. High and low count among these assumptions only.")
	const none = engine.Zone("none yet")
	zone, order := none, firstOf(r.Order, canvasAssumptions)
	for _, id := range order {
		a, _ := k.Assumption(id)
		s, _ := k.Scored(id)
		if s.Zone != zone {
			if zone != none {
				m.line("") // ends the list of the zone before
			}
			zone = s.Zone
			m.para("**%s**", sentenceCase(zoneText(zone)))
		}
		m.line("- %s: %s (importance %s, evidence %s%s)", id, aside(a.Text, 300), number(s.Importance.Median), number(s.Evidence.Median), splitText(s))
	}
	m.more(len(r.Order), len(order))
}

// splitText says where people were far apart, or few.
func splitText(s engine.AssumptionScore) string {
	switch {
	case s.Thin:
		return "; few ratings"
	case s.Importance.Agreement == engine.Split || s.Evidence.Agreement == engine.Split:
		return "; split"
	}
	return ""
}

func canvasTestsSection(m *markdown, k flows.Kickoff) {
	m.title(2, "What we test, and how")
	m.word(k, "backlog")
	all, shown := 0, 0
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			if all++; all > canvasTests {
				continue
			}
			shown++
			m.line("- %s: **%s** Counts as support: %s. Owner: %s. %s.", id, sentenceEnd(aside(t.Method, 160)), passMark(t), aside(ownerName(k, t), 60), sentenceCase(effortText(t)))
		}
	}
	if all == 0 {
		m.para("No test has been planned yet.")
	} else {
		m.more(all, shown)
	}
	if ids := untested(k); len(ids) > 0 {
		m.para("Still without a test, though they come first: %s.", listed(ids, canvasFew))
	}
}

func ownerName(k flows.Kickoff, t flows.Test) string {
	if t.Owner == "" {
		return "nobody yet"
	}
	return k.Name(t.Owner)
}

func canvasBox(m *markdown, k flows.Kickoff) {
	t := k.Timebox
	m.title(2, "The time box")
	m.word(k, "timebox")
	if t.Weeks == 0 {
		m.para("It is not set yet.")
		return
	}
	weeks := weeksText(t.Weeks)
	for _, more := range t.Renewals {
		weeks += fmt.Sprintf(" and %d more", more)
	}
	m.line("- **%s**, with a check-in each %s", weeks, t.Checkin)
	if !t.Starts.IsZero() {
		m.line("- from %s to %s", longDay(k, t.Starts), longDay(k, t.Ends))
	}
	m.line("- **We stop if:** %s", onPage(orNothing(t.StopIf)))
	m.line("- **We build if:** %s", onPage(orNothing(t.BuildIf)))
	m.line("")
}

func canvasRoles(m *markdown, k flows.Kickoff) {
	if k.Roles.Skipped {
		return
	}
	m.title(2, "Who does what")
	m.word(k, "roles")
	r := rolesOf(k)
	for _, ring := range []struct {
		name   string
		people []string
	}{{"Core team", r.Core}, {"Consulted", r.Consulted}, {"Informed", r.Informed}, {"Not placed", r.Unplaced}} {
		if len(ring.people) == 0 {
			continue
		}
		var names []string
		for _, p := range ring.people {
			names = append(names, aside(p, 60))
		}
		m.line("- **%s:** %s", ring.name, listed(names, canvasTests))
	}
	for _, missing := range firstOf(r.Missing, canvasFew) {
		m.line("- Missing so far: %s, expected as %s", aside(missing.Name, 80), ringText(flows.Ring(missing.Ring)))
	}
	m.line("")
}

func canvasQuestions(m *markdown, k flows.Kickoff) {
	open := k.Brief.OpenQuestions()
	if len(open) == 0 {
		return
	}
	m.title(2, "Open questions")
	m.word(k, "questions")
	for _, q := range firstOf(open, canvasFew) {
		m.line("- %s (asked by %s)", aside(q.Ask, 400), aside(k.Name(q.By), 60))
	}
	m.more(len(open), canvasFew)
}

func canvasActions(m *markdown, k flows.Kickoff) {
	if len(k.Actions) == 0 {
		return
	}
	m.title(2, "Next steps")
	m.word(k, "actions")
	for _, a := range firstOf(k.Actions, canvasTests) {
		m.line("- %s **%s**, until %s", sentenceEnd(aside(a.What, 300)), aside(k.Name(a.Owner), 60), dayText(a.Due))
	}
	m.more(len(k.Actions), canvasTests)
}

func canvasFoot(m *markdown, k flows.Kickoff) {
	m.line("---")
	m.line("")
	if k.Stage == flows.StageEnded {
		m.para("This is how it stood at the end. The talk about it, and the files, are in the thread of the summary.")
		return
	}
	m.para("I keep this page current, so what is typed into it does not last. Talk in the thread of the summary; the files are there as well.")
}
