package report

import (
	"embed"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"text/template"
	"time"

	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows/guide"
	"soundings/flows/state"
)

// The summary as two pages of Markdown, one template each: a file, enough for
// somebody who missed everything, and a canvas.

//go:embed summary.md.tmpl canvas.md.tmpl summary.html.tmpl
var templates embed.FS

// summaryFile is the whole kickoff as a file.
func summaryFile(f facts) (File, error) {
	text, err := summaryPage.fill(f)
	return File{Name: "summary.md", Title: "The summary", Data: []byte(text)}, err
}

// A CanvasPage is the summary as a page of the channel.
type CanvasPage struct {
	Title    string // plain text
	Markdown string // at most LongestCanvas characters
}

// LongestCanvas is the most characters that a canvas takes. Source: the
// platform's page on conversations.canvases.create.
const LongestCanvas = 1 << 20

// Canvas is the summary to be read on a phone: lists and no tables, each thing
// once. It says nothing that changes by the day, so that it stays true between
// check-ins.
func Canvas(k state.Kickoff) CanvasPage {
	text, err := canvasPage.fill(factsOf(k))
	if err != nil {
		panic(err) // the template asks for what the facts do not have
	}
	return CanvasPage{Title: words.Contained(words.Clip(k.Brief.Title, 100)) + ": the summary", Markdown: text}
}

// A page is a template, and what makes typed text safe on it.
type page struct {
	*template.Template
	safe func(string) string
}

var (
	summaryPage = page{pageTemplate("summary.md.tmpl", fileQuote), inline}
	canvasPage  = page{pageTemplate("canvas.md.tmpl", canvasQuote), onPage}
)

func pageTemplate(name string, quote func(typed) string) *template.Template {
	return template.Must(template.New(name).Funcs(pageFuncs).Funcs(template.FuncMap{"quote": quote}).ParseFS(templates, name))
}

var pageFuncs = template.FuncMap{
	"all":       func() int { return all },
	"agreement": agreementText, "capital": words.SentenceCase, "care": func() string { return guide.Care }, "caution": guide.CautionFor, "choice": words.ChoiceText,
	"clip": clipTyped, "count": words.Count, "day": longDay, "few": func() string { return words.TooFew }, "first": firstOf, "join": strings.Join,
	"listed": words.Listed, "more": moreText, "number": words.Number, "people": peopleText, "rank": words.RankText, "ring": words.RingText,
	"rung": words.Rung, "said": saidOf, "sentence": sentence, "shortDay": shortDay, "split": splitText, "spread": words.SpreadText, "titles": words.StageTitles, "weeks": words.WeeksText, "zone": words.ZoneText,
}

// typed is what somebody typed. It prints between marks, by which a page finds
// it wherever it ended up and makes it safe: no template has to think of it.
type typed string

const typedMark = "\x00"

func (t typed) String() string {
	return typedMark + strings.NewReplacer(typedMark, "", typedOnWeb, "").Replace(string(t)) + typedMark
}

func (p page) fill(f facts) (string, error) {
	var b strings.Builder
	if err := p.Execute(&b, f); err != nil {
		return "", fmt.Errorf("fill in a page: %w", err)
	}
	pieces := strings.Split(b.String(), typedMark)
	for i := 1; i < len(pieces); i += 2 {
		pieces[i] = p.safe(pieces[i])
	}
	return strings.Join(pieces, ""), nil
}

func clipTyped(longest int, t typed) typed { return typed(words.Clip(string(t), longest)) }

// sentence ends a text that may have an end already.
func sentence(t typed) string {
	last := words.Contained(strings.TrimSpace(string(t)))
	return t.String() + strings.TrimPrefix(words.SentenceEnd(last), last)
}

// firstOf is words.FirstOf for a list of anything.
func firstOf(most int, list any) any {
	v := reflect.ValueOf(list)
	return v.Slice(0, min(most, v.Len())).Interface()
}

// moreText is the item that ends a list of which only the first are shown.
func moreText(most int, list any) string {
	left := reflect.ValueOf(list).Len() - most
	if left <= 0 {
		return ""
	}
	return fmt.Sprintf("- and %d more, in the files of the summary\n", left)
}

// peopleText are the first of the names, with the days that each can give.
func peopleText(most, longest int, names []typed, days map[typed]float64) string {
	if len(names) == 0 {
		return "nobody"
	}
	return words.Listed(each(names, func(name typed) string {
		text := clipTyped(longest, name).String()
		if d, given := days[name]; given {
			text += fmt.Sprintf(" (%s a week)", words.Days(d))
		}
		return text
	}), most)
}

// saidOf is what leads put to a part.
func saidOf(f facts, part string) (said struct {
	Change *change
	Word   *leadWord
	Few    string
}) {
	said.Few = f.Few[part]
	for i, c := range f.Changes {
		if c.Part == part {
			said.Change = &f.Changes[i]
		}
	}
	for i, w := range f.LeadWords {
		if w.Part == part {
			said.Word = &f.LeadWords[i]
		}
	}
	return said
}

func agreementText(s engine.AssumptionScore) string {
	var parts []string
	if s.Importance.Agreement != "" {
		parts = append(parts, "importance "+string(s.Importance.Agreement))
	}
	if s.Evidence.Agreement != "" {
		parts = append(parts, "evidence "+string(s.Evidence.Agreement))
	}
	if s.Thin {
		parts = append(parts, "few ratings")
	}
	return strings.Join(parts, ", ")
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

// passCell is words.PassMark for the column of a table.
func passCell(t state.Test) string {
	if t.YesNo || t.Bound.Unit != "" || t.PassShare == 0 {
		return words.PassMark(t)
	}
	size := ""
	if t.Size > 0 {
		size = fmt.Sprintf(" of %d", t.Size)
	}
	return fmt.Sprintf("at least %s %%%s", words.Number(engine.Figure(t.PassShare*100)), size)
}

// longDay writes a date out. A date is nobody's moment, so no time zone can
// shift it.
func longDay(date any) string { return dateText(fmt.Sprint(date), "Monday 2 January 2006") }

func shortDay(date state.LocalDay) string { return dateText(string(date), "Mon 2 Jan") }

func dateText(date, layout string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return t.Format(layout)
}

// fileQuote and canvasQuote set somebody's text apart, line by line. A canvas
// takes no empty line within a quote.
func fileQuote(t typed) string { return quoted(strings.Split(string(t), "\n"), "  \n") }

func canvasQuote(t typed) string {
	lines := strings.Split(string(t), "\n")
	return quoted(slices.DeleteFunc(lines, func(l string) bool { return strings.TrimSpace(l) == "" }), "\n")
}

func quoted(lines []string, end string) string {
	return strings.Join(each(lines, func(l string) string { return "> " + typed(l).String() + end }), "")
}

// onPage makes typed text safe within a line of a canvas, which knows no HTML:
// whatever could mean something is escaped, the brackets of a mention
// ("![](@U…)") above all, and line breaks become spaces.
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
func inline(text string) string { return guardStart(inlineEscapes.Replace(words.Contained(text))) }

var inlineEscapes = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;",
	"\r\n", "<br>", "\n", "<br>", "\r", "<br>", "\u2028", "<br>", "\u2029", "<br>",
	"\\", "\\\\", "`", "\\`", "*", "\\*", "_", "\\_", "[", "\\[", "]", "\\]", "|", "\\|", "~", "\\~", "#", "\\#", "$", "\\$", "@", "\\@")

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
