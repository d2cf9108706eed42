package report

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"soundings/bot/words"
)

// markdown writes a document as Markdown in which whatever people typed is
// text: for a file, or for a canvas, which knows no HTML.
type markdown struct {
	strings.Builder
	zone   *time.Location // in which days are told
	canvas bool
}

func (m *markdown) line(format string, args ...any) { fmt.Fprintf(m, format+"\n", args...) }

func (m *markdown) parts(parts ...Part) {
	for _, p := range parts {
		if len(p.Blocks) > 0 && p.Title != "" {
			m.line("## %s\n", p.Title)
		}
		for _, b := range slices.Concat(p.Above, p.Blocks) {
			m.block(b)
		}
	}
}

// block writes a block and the empty line that ends it.
func (m *markdown) block(b Block) {
	switch b := b.(type) {
	case Para:
		m.line("%s", m.text(Text(b)))
	case Quote:
		m.quote(string(b))
	case Heading:
		m.line("### %s", b)
	case Code:
		m.line("```\n%s\n```", b)
	case Table:
		m.table(b)
	case Rule:
		m.line("---")
	case List:
		for _, item := range b.Items {
			m.line("- %s", m.text(item))
		}
		if left := b.All - len(b.Items); left > 0 {
			m.line("- and %d more, in the files of the summary", left)
		}
	default:
		panic(fmt.Sprintf("report: Markdown has no form for a %T", b))
	}
	m.line("")
}

// quote sets somebody's text apart, line by line.
func (m *markdown) quote(text string) {
	for l := range strings.SplitSeq(text, "\n") {
		switch {
		case !m.canvas:
			m.line("> %s  ", m.safe(l))
		case strings.TrimSpace(l) != "":
			m.line("> %s", m.safe(l))
		}
	}
}

func (m *markdown) table(rows [][]Text) {
	for i, row := range rows {
		cells := make([]string, len(row))
		for j, cell := range row {
			cells[j] = m.text(cell)
		}
		m.line("| %s |", strings.Join(cells, " | "))
		if i == 0 {
			m.line("|%s", strings.Repeat(" --- |", len(row)))
		}
	}
}

// text writes runs, with the marks where bold or italic begins and ends.
func (m *markdown) text(text Text) string {
	var b strings.Builder
	var now Run
	turn := func(to Run) {
		if now.Bold != to.Bold {
			b.WriteString("**")
		}
		if now.Italic != to.Italic {
			b.WriteString("*")
		}
		now = to
	}
	for _, run := range text {
		turn(run)
		switch {
		case !run.At.IsZero():
			b.WriteString(longDay(run.At.In(m.zone)))
		case run.Typed:
			b.WriteString(m.safe(run.Text))
		default:
			b.WriteString(run.Text)
		}
	}
	turn(Run{})
	return b.String()
}

func longDay(t time.Time) string { return t.Format("Monday 2 January 2006") }

// safe makes typed text safe within a line.
func (m *markdown) safe(text string) string {
	if m.canvas {
		return onPage(text)
	}
	return inline(text)
}

// onPage makes typed text safe within a line of a canvas: whatever could mean
// something is escaped, the brackets of a mention ("![](@U…)") above all, and
// line breaks become spaces.
func onPage(text string) string {
	var b strings.Builder
	for _, r := range words.Contained(strings.Join(strings.Fields(text), " ")) {
		if strings.ContainsRune("\\`*_[]|~#<>@&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return guardStart(b.String())
}

// inline makes typed text safe within a line of a file: every character that
// could mean something is escaped, and line breaks become breaks.
func inline(text string) string {
	var b strings.Builder
	text = words.Contained(strings.ReplaceAll(text, "\r\n", "\n"))
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
