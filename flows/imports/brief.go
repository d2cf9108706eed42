// Package imports reads what people paste: a brief in Markdown and assumptions
// in a table. What cannot be read comes back as a *flows.Refusal that says what
// to change.
//
// Whether the result may become part of a kickoff is left to package flows.
// Start with [Brief] and [Assumptions].
package imports

import (
	"fmt"
	"regexp"
	"strings"

	"soundings/flows"
	"soundings/flows/state"
)

// briefHeadings names the parts of a brief in Markdown, and what else people
// call them.
func briefHeadings(b *state.Brief) map[string]*string {
	return map[string]*string{
		"problem": &b.Problem, "problem statement": &b.Problem, "the problem": &b.Problem,
		"why now": &b.Why, "why": &b.Why,
		"outcome": &b.Outcome, "outcomes": &b.Outcome,
		"out of bounds": &b.OutOfBounds, "out-of-bounds": &b.OutOfBounds,
		"links": nil, "link": nil,
	}
}

const allowedHeadings = "Problem, Why now, Outcome, Out of bounds and Links"

// Brief reads a brief in Markdown: “# ” and a title, then under “## ”
// the parts Problem, Why now, Outcome, Out of bounds and Links (one a line),
// in any order and letter case, with or without a colon. Text right under the
// title is the problem statement where no heading gives one.
//
// What is wrong comes back as a *Refusal. With a missing title or problem,
// whose Field is then "title" or "problem", the rest that was read comes back
// too; every other refusal has the Field "markdown".
func Brief(markdown string) (state.Brief, error) {
	p := briefParser{at: -1}
	for _, l := range strings.Split(unixLines(markdown), "\n") {
		p.line(l)
	}
	b, err := p.brief()
	switch {
	case err != nil:
		return state.Brief{}, err
	case b.Title == "":
		return b, refuse("title", "The text has no title. Begin it with a line such as “# Bicycles on the ferry”.")
	case b.Problem == "":
		return b, refuse("problem", "The text has no problem statement. Write it under a line “## Problem”.")
	}
	return b, nil
}

// unixLines takes a byte order mark and carriage returns away.
func unixLines(text string) string {
	return strings.NewReplacer("\r\n", "\n", "\r", "\n", "\ufeff", "").Replace(text)
}

// A briefParser gathers the parts of a brief, line by line.
type briefParser struct {
	parts  []briefPart
	at     int // the part that lines belong to; -1 before the first heading
	intro  []string
	fenced bool // inside a code block, where # is no heading
}

type briefPart struct {
	level   int
	heading string
	lines   []string
}

var (
	headingLine = regexp.MustCompile(`^ {0,3}(#{1,2})[ \t]+(.*?)(?:[ \t]+#+)?[ \t]*$`)
	fenceLine   = regexp.MustCompile("^ {0,3}(```|~~~)")
)

func (p *briefParser) line(l string) {
	if fenceLine.MatchString(l) {
		p.fenced = !p.fenced
	}
	if m := headingLine.FindStringSubmatch(l); m != nil && !p.fenced {
		p.parts = append(p.parts, briefPart{level: len(m[1]), heading: strings.Trim(m[2], "*_ ")})
		p.at++
		return
	}
	if p.at < 0 {
		p.intro = append(p.intro, l)
		return
	}
	p.parts[p.at].lines = append(p.parts[p.at].lines, l)
}

// brief puts the parts where they belong.
func (p *briefParser) brief() (state.Brief, error) {
	var b state.Brief
	fields := briefHeadings(&b)
	seen := map[*string]string{}
	under := strings.TrimSpace(strings.Join(p.intro, "\n"))
	for _, part := range p.parts {
		text := strings.TrimSpace(strings.Join(part.lines, "\n"))
		field, known := fields[headingKey(part.heading)]
		switch {
		case !known && part.level == 1 && b.Title == "":
			b.Title, under = part.heading, strings.TrimSpace(under+"\n"+text)
		case !known && part.level == 1:
			return state.Brief{}, refuse("markdown", "There are two titles, “%s” and “%s”. Keep one, and begin the others with “##”.",
				shortHeading(b.Title), shortHeading(part.heading))
		case !known:
			return state.Brief{}, refuse("markdown", "The heading “%s” is not one that a brief has. The headings are %s.",
				shortHeading(part.heading), allowedHeadings)
		case seen[field] != "":
			return state.Brief{}, refuse("markdown", "The heading “%s” stands there twice. Put both texts under one.", shortHeading(part.heading))
		case field == nil:
			b.Links = Links(text)
			seen[field] = part.heading
		default:
			*field, seen[field] = text, part.heading
		}
	}
	err := takeIntro(&b, under)
	return b, err
}

// takeIntro makes text under the title the problem, unless there is one.
func takeIntro(b *state.Brief, text string) error {
	if text != "" && b.Problem != "" {
		return refuse("markdown", "There is text before the first heading. Move it under one of these: %s.", allowedHeadings)
	}
	if text != "" {
		b.Problem = text
	}
	return nil
}

func headingKey(heading string) string {
	return strings.ToLower(strings.TrimRight(strings.Join(strings.Fields(heading), " "), ": ."))
}

// shortHeading keeps a sentence about a heading short.
func shortHeading(heading string) string {
	if runes := []rune(heading); len(runes) > 40 {
		return string(runes[:39]) + "…"
	}
	return heading
}

var (
	listMark     = regexp.MustCompile(`^\s*(?:[-*+•]|\d+[.)])\s+`)
	markdownLink = regexp.MustCompile(`\[([^\[\]]*)\]\(<?([^()\s<>]+)>?\)`)
	bareLink     = regexp.MustCompile(`<(https?://[^<>\s]+)>`)
)

// Links reads links, one a line; list marks and Markdown's brackets are
// taken off, what is said about a link is kept.
func Links(text string) []string {
	var links []string
	for _, l := range strings.Split(unixLines(text), "\n") {
		l = listMark.ReplaceAllString(l, "")
		l = markdownLink.ReplaceAllString(l, "$1 $2")
		l = strings.TrimSpace(bareLink.ReplaceAllString(l, "$1"))
		if l != "" {
			links = append(links, l)
		}
	}
	return links
}

func refuse(field, format string, args ...any) error {
	return &flows.Refusal{Field: field, Reason: fmt.Sprintf(format, args...)}
}
