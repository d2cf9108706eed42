// Package score tells a table of ratings as a text for a terminal: the
// assumptions in test order, where to talk, what hangs on who rated. What
// people typed cannot act on the terminal.
//
// Start from Text; Map draws the same table as a picture.
package score

import (
	"fmt"
	"slices"
	"strings"

	"soundings/bot/report/chart"
	"soundings/bot/words"
	"soundings/engine"
)

// Options say how a report is written, and for whom.
type Options struct {
	Width  int  // columns; 0 means 80
	Colour bool // for a terminal; nothing is told by colour alone

	// Ballots are the ratings behind the result. With them the report names
	// whose ballots have gaps; without, it counts them.
	Ballots engine.Table
}

// Text tells a result in plain sentences, for a lead to read aloud: the
// assumptions in test order, where to talk, what hangs on who rated. What
// people typed is shown whole, and cannot act on a terminal: see [words.Harmless].
func Text(r engine.Result, o Options) string {
	if o.Width <= 0 {
		o.Width = 80
	}
	t := &report{result: r, options: o, scores: map[string]engine.AssumptionScore{}}
	for _, a := range r.Assumptions {
		t.scores[a.ID] = a
	}
	t.opening()
	t.order()
	t.splits()
	t.thin()
	t.levelling()
	t.group()
	t.gaps()
	return t.text.String()
}

// Map is chart.Draw for a table that anybody may have written: what could
// break a picture in an id is shown by name, as in the report.
func Map(r engine.Result, format string) ([]byte, error) {
	r.Assumptions, r.Order = slices.Clone(r.Assumptions), slices.Clone(r.Order)
	for i := range r.Assumptions {
		r.Assumptions[i].ID = words.HarmlessLine(r.Assumptions[i].ID)
	}
	for i := range r.Order {
		r.Order[i] = words.HarmlessLine(r.Order[i])
	}
	return chart.Draw(r, engine.Plan{}, format)
}

// A report is a text in the making.
type report struct {
	result  engine.Result
	options Options
	scores  map[string]engine.AssumptionScore
	text    strings.Builder
}

// Styles of a terminal, as numbers of ECMA-48.
const (
	strong      = "1"
	strongFirst = "1;36"
)

// heading writes a title behind an empty line.
func (t *report) heading(style, format string, args ...any) {
	if t.text.Len() > 0 {
		t.text.WriteByte('\n')
	}
	t.title(style, format, args...)
}

func (t *report) title(style, format string, args ...any) {
	for _, line := range words.Wrap(fmt.Sprintf(format, args...), t.options.Width, "") {
		t.text.WriteString(t.paint(style, line) + "\n")
	}
}

// section writes a title with an empty line on either side.
func (t *report) section(title string) {
	t.heading(strong, "%s", title)
	t.text.WriteByte('\n')
}

// say writes a paragraph.
func (t *report) say(format string, args ...any) {
	for _, line := range words.Wrap(fmt.Sprintf(format, args...), t.options.Width, "") {
		t.text.WriteString(line + "\n")
	}
}

func (t *report) paint(style, text string) string {
	if !t.options.Colour {
		return text
	}
	return "\x1b[" + style + "m" + text + "\x1b[0m"
}

func (t *report) opening() {
	t.heading(strong, "%s, %s", words.Count(len(t.result.Assumptions), "assumption", "assumptions"),
		words.Count(t.result.Raters, "rater", "raters"))
	t.text.WriteByte('\n')
	if !t.result.Cut.Importance.Defined() {
		t.say("Nothing was rated on both scales, so there is no order.")
		return
	}
	t.say("The list is in test order. Each figure is the median of the ratings from 1 to 9, with the middle half " +
		"of them (lower to upper quartile) in brackets. Close, mixed and split say how far apart they are.")
	t.text.WriteByte('\n')
	t.say("The zones are cut at this map's own medians: importance from %s up is high, evidence below %s is little. "+
		"So never compare two maps by number.", words.Number(t.result.Cut.Importance), words.Number(t.result.Cut.Evidence))
	t.text.WriteByte('\n')
	t.say("To see how far the order hangs on who rated, raters were drawn again at random, many times. A share of " +
		"resamples is no confidence: where assumptions nearly tie, or few people rated, it says little.")
}

// order lists the assumptions under their zones.
func (t *report) order() {
	indent := t.indent()
	for _, z := range []engine.Zone{engine.TestFirst, engine.RelyOn, engine.Watch, engine.Leave, ""} {
		ids := words.InZone(t.result, z)
		switch {
		case len(ids) == 0:
			continue
		case z == engine.TestFirst:
			t.heading(strongFirst, "%s", words.ZoneHeading(z))
		case z == "":
			t.heading(strong, "Not ranked: nobody rated them on one of the scales")
		default:
			t.heading(strong, "%s", words.ZoneHeading(z))
		}
		for _, id := range ids {
			t.text.WriteByte('\n')
			t.assumption(t.scores[id], indent)
		}
	}
}

// longestMark is the columns of a place and an id that share a line with the
// statement; a longer id gets a line of its own.
const longestMark = 24

// rank is the place of an assumption, as wide for all.
func (t *report) rank(a engine.AssumptionScore) string {
	wide := len(fmt.Sprint(len(t.result.Order)))
	if a.Rank == 0 {
		return fmt.Sprintf("%*s  ", wide, words.RankText(a.Rank))
	}
	return fmt.Sprintf("%*s. ", wide, words.RankText(a.Rank))
}

// indent is what stands in front of statements and figures.
func (t *report) indent() string {
	deepest := words.Columns(t.rank(engine.AssumptionScore{}))
	for _, a := range t.result.Assumptions {
		if n := words.Columns(t.rank(a) + words.HarmlessLine(a.ID) + "  "); n <= longestMark {
			deepest = max(deepest, n)
		}
	}
	return strings.Repeat(" ", deepest)
}

// assumption writes one of the list: its place and id, and beside and beneath
// them its statement and its figures, behind indent.
func (t *report) assumption(a engine.AssumptionScore, indent string) {
	var lines []string
	for _, text := range append([]string{words.HarmlessLine(a.Statement)}, figures(a)...) {
		if text != "" {
			lines = append(lines, words.Wrap(text, t.options.Width, indent)...)
		}
	}
	mark := t.rank(a) + words.HarmlessLine(a.ID)
	if gap := len(indent) - words.Columns(mark); gap > 0 {
		lines[0] = t.paint(strong, mark) + strings.Repeat(" ", gap) + lines[0][len(indent):]
	} else {
		t.title(strong, "%s", mark)
	}
	t.text.WriteString(strings.Join(lines, "\n") + "\n")
}

// figures says what the ratings of an assumption come to.
func figures(a engine.AssumptionScore) []string {
	spreads := fmt.Sprintf("Importance %s; evidence %s.", spreadWords(a.Importance), spreadWords(a.Evidence))
	if a.Rank == 0 {
		return []string{spreads}
	}
	if a.Thin {
		spreads += fmt.Sprintf(" Thin: %s.", words.Count(min(a.Importance.N, a.Evidence.N), "rating", "ratings"))
	}
	return []string{spreads, fmt.Sprintf("In the top three in %s resamples; %s.", shareText(a.Top3), rankSpan(a))}
}

// spreadWords: "8 (7 to 9), close".
func spreadWords(s engine.Spread) string {
	if s.N == 0 {
		return words.SpreadText(s)
	}
	return words.SpreadText(s) + ", " + string(s.Agreement)
}

// shareText writes a share in whole percent, and claims neither all nor none
// where it is not so.
func shareText(f engine.Figure) string {
	switch {
	case f == 0:
		return "none of the"
	case f == 1:
		return "all"
	case f < 0.01:
		return "under 1% of"
	case f > 0.99:
		return "over 99% of"
	}
	return fmt.Sprintf("%.0f%% of", 100*float64(f))
}

func rankSpan(a engine.AssumptionScore) string {
	if a.RankLow == a.RankHigh {
		return fmt.Sprintf("at place %d in nine of ten", a.RankLow)
	}
	return fmt.Sprintf("at place %d to %d in nine of ten", a.RankLow, a.RankHigh)
}
