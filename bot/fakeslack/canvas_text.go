package fakeslack

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"soundings/bot/fakeslack/wire"
)

// What a canvas takes of Markdown. Sources: the platform's page on canvases
// (headings of three levels, tables of 300 cells) and on
// conversations.canvases.create (1,048,576 characters); that a quote within a
// list and one kind of list within another are refused is from
// github.com/getsentry/junior, pull request 1115; the words of the detail from
// slackapi/python-slack-sdk, issue 1720.
const (
	longestCanvas   = 1 << 20
	mostCanvasCells = 300
	deepestHeading  = 3
)

// canvasTaken refuses with code what the platform would not put on a canvas.
func canvasTaken(code, page string) error {
	if utf8.RuneCountInString(page) > longestCanvas {
		return wire.Refuse("invalid_arguments", fmt.Sprintf("must be less than %d characters [json-pointer:/document_content/markdown]", longestCanvas+1))
	}
	r := canvasReader{}
	for i, line := range strings.Split(page, "\n") {
		if what := r.line(line); what != "" {
			return &wire.Refusal{Code: code, More: reply{"detail": fmt.Sprintf("'content' error: line %d: %s", i+1, what)}}
		}
	}
	return nil
}

// A canvasReader reads a page line by line.
type canvasReader struct {
	fenced bool
	list   string // the mark of the outermost list that is open; empty when none is
	cells  int    // of the table that is open
}

// line says what of a line is not supported; empty when all is.
func (r *canvasReader) line(line string) string {
	text := strings.TrimSpace(line)
	indented := line != strings.TrimLeft(line, " \t")
	if strings.HasPrefix(text, "```") {
		r.fenced = !r.fenced
		return ""
	}
	if r.fenced || text == "" {
		r.cells = 0
		return ""
	}
	if level := len(text) - len(strings.TrimLeft(text, "#")); level > deepestHeading && strings.HasPrefix(text[level:], " ") {
		return "Unsupported heading level"
	}
	if strings.HasPrefix(text, "|") {
		if r.cells += strings.Count(text, "|") - 1; r.cells > mostCanvasCells {
			return "Unsupported table type"
		}
		return ""
	}
	r.cells = 0
	mark := listMark(text)
	switch {
	case mark == "" && !indented:
		r.list = ""
	case mark != "" && !indented:
		r.list = mark
	case mark != "" && r.list != "" && mark != r.list:
		return "Unsupported list type"
	case indented && r.list != "" && strings.HasPrefix(text, ">"):
		return "Unsupported blockquote in list"
	}
	return ""
}

// listMark is "-" for an item of a list, "1" for one of a numbered list.
func listMark(text string) string {
	if strings.HasPrefix(text, "- ") || strings.HasPrefix(text, "* ") || strings.HasPrefix(text, "+ ") {
		return "-"
	}
	digits := len(text) - len(strings.TrimLeft(text, "0123456789"))
	if digits > 0 && strings.HasPrefix(text[digits:], ". ") {
		return "1"
	}
	return ""
}
