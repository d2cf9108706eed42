// Package score tells a table of ratings as a text for a terminal: the
// assumptions in test order, where to talk, what hangs on who rated. What
// people typed cannot act on the terminal.
//
// Start from Text; Map draws the same table as a picture.
package score

import (
	"fmt"
	"math"
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
	t := newReport(r, o)
	t.opening()
	t.order()
	t.splits()
	t.thin()
	t.firm()
	t.group()
	t.gaps()
	return t.text.String()
}

func newReport(r engine.Result, o Options) *report {
	t := &report{result: r, options: o, scores: map[string]engine.AssumptionScore{}}
	for _, a := range r.Assumptions {
		t.scores[a.ID] = a
	}
	return t
}

// Map is chart.Draw for a table that anybody may have written: what could
// break a picture in an id is shown by name, as in the report.
func Map(r engine.Result, format string) ([]byte, error) {
	return chart.Draw(chart.Picture{Result: harmless(r)}, format)
}

// harmless shows what could break a line in an id by name.
func harmless(r engine.Result) engine.Result {
	r.Assumptions, r.Order = slices.Clone(r.Assumptions), slices.Clone(r.Order)
	for i := range r.Assumptions {
		r.Assumptions[i].ID = words.HarmlessLine(r.Assumptions[i].ID)
	}
	for i := range r.Order {
		r.Order[i] = words.HarmlessLine(r.Order[i])
	}
	return r
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
func (t *report) say(format string, args ...any) { t.title("", format, args...) }

func (t *report) paint(style, text string) string {
	if !t.options.Colour || style == "" {
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
	t.say("Importance from 6.5 up is high, evidence below 3.5 is little, and so is evidence that is split or thin. "+
		"In the middle of the scale this map's own medians decide, %s and %s. "+
		"So never compare two maps by number.", words.Number(t.result.Cut.Importance), words.Number(t.result.Cut.Evidence))
	t.text.WriteByte('\n')
	t.say("%s", words.FirstText(harmless(t.result)))
}

// order lists the assumptions under their zones.
func (t *report) order() {
	indent := t.indent()
	for _, z := range append(slices.Clone(t.result.Zones()), "") {
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
	for _, text := range append([]string{words.HarmlessLine(a.Statement)}, t.figures(a)...) {
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
func (t *report) figures(a engine.AssumptionScore) []string {
	spreads := fmt.Sprintf("Importance %s; evidence %s.", spreadWords(a.Importance), spreadWords(a.Evidence))
	return []string{strings.Join(append([]string{spreads}, t.remarks(a)...), " ")}
}

// remarks are what the figures of an assumption do not say.
func (t *report) remarks(a engine.AssumptionScore) []string {
	if a.Rank == 0 {
		return nil
	}
	var all []string
	if a.Thin {
		all = append(all, fmt.Sprintf("Thin: %s.", words.Count(min(a.Importance.N, a.Evidence.N), "rating", "ratings")))
	}
	for _, more := range []string{words.DoubtText(t.result, a), words.CantSayText(a, t.result.Raters), words.TieText(t.result, a)} {
		if more != "" {
			all = append(all, words.HarmlessLine(more))
		}
	}
	return all
}

// spreadWords: "8 (7 to 9), close".
func spreadWords(s engine.Spread) string {
	if s.N == 0 {
		return words.SpreadText(s)
	}
	return words.SpreadText(s) + ", " + string(s.Agreement)
}

// The notes beneath the list of a report.

// mostNamed bounds the names in one sentence, which is to be read aloud.
const mostNamed = 20

// splits says where to talk.
func (t *report) splits() {
	t.section("Where to talk")
	none := true
	for _, id := range t.result.Order {
		a := t.scores[id]
		for _, s := range []struct {
			name   string
			spread engine.Spread
		}{{"importance", a.Importance}, {"evidence", a.Evidence}} {
			if s.spread.Agreement == engine.Split {
				none = false
				t.say("%s: split on %s, the middle half runs from %s to %s.", words.HarmlessLine(id), s.name,
					words.Number(s.spread.Q1), words.Number(s.spread.Q3))
			}
		}
	}
	if none {
		t.say("Nowhere in particular: no ratings are split.")
		return
	}
	t.say("Ask what somebody knows there that the others do not.")
}

// thin names the assumptions with few ratings.
func (t *report) thin() {
	var ids []string
	for _, id := range t.result.Order {
		if t.scores[id].Thin {
			ids = append(ids, words.HarmlessLine(id))
		}
	}
	if len(ids) == 0 {
		return
	}
	t.section("Thin")
	t.say("Do not lean on %s. On one scale or both, fewer than 3 people rated, or fewer than half of those asked.",
		words.Listed(ids, mostNamed))
}

// firm says how firmly the first stand, and what levelling would add.
func (t *report) firm() {
	r := harmless(t.result)
	first, strict := words.FirmText(r), words.StrictText(r)
	if first == "" && strict == "" {
		return
	}
	t.section("How firm it is")
	if first != "" {
		t.say("%s %s With few raters it says little.", first, words.FirmNote)
	}
	if strict != "" {
		t.say("%s", strict)
	}
}

// group says how far the raters put the assumptions in one order.
func (t *report) group() {
	t.section("The group as a whole")
	c := t.result.Concordance
	t.say("Kendall's W goes from 0, no common order, to 1, the same order for everybody.")
	t.say("On importance %s", concordanceSentence(c.Importance))
	t.say("On evidence %s", concordanceSentence(c.Evidence))
}

func concordanceSentence(c engine.Concordance) string {
	gaps := ""
	if c.BallotsAll > c.Ballots && c.WAll.Defined() {
		gaps = fmt.Sprintf(" With the ballots that have gaps people %s: W is %.2f over %s.", words.Agreeing(c.WAll), float64(c.WAll),
			words.Count(c.BallotsAll, "ballot", "ballots"))
	}
	if !c.W.Defined() {
		return fmt.Sprintf("there is no figure. It takes two complete ballots, two assumptions, and ratings that differ (here %s).",
			words.Count(c.Ballots, "complete ballot", "complete ballots")) + gaps
	}
	return fmt.Sprintf("people %s: W is %.2f over %s. %s", words.Agreeing(c.W), float64(c.W), words.Count(c.Ballots, "complete ballot", "complete ballots"), chanceText(c.P)) + gaps
}

// chanceText tells a p-value as what it is.
func chanceText(p engine.Figure) string {
	switch thousands := math.Round(1000 * float64(p)); {
	case thousands < 1:
		return "Chance alone would reach that in fewer than 1 of 1,000 groups without any common order (p below 0.001)."
	case thousands == 1000:
		return "Chance alone would reach that in nearly any group without a common order (p = 1.000)."
	default:
		return fmt.Sprintf("Chance alone would reach that in about %.0f of 1,000 groups without any common order (p = %.3f).",
			thousands, float64(p))
	}
}

// gaps says which ballots the figures of the group leave out.
func (t *report) gaps() {
	c := t.result.Concordance
	t.section("Incomplete ballots")
	if c.Importance.LeftOut == 0 && c.Evidence.LeftOut == 0 {
		t.say("None: everybody rated everything.")
		return
	}
	b := t.options.Ballots
	t.say("They count above for what they hold; of Kendall's W they count only where it says so.")
	t.say("On importance %s.", leftOutText(c.Importance, b.Raters, b.Importance))
	t.say("On evidence %s.", leftOutText(c.Evidence, b.Raters, b.Evidence))
}

func leftOutText(c engine.Concordance, raters []string, ratings [][]engine.Rating) string {
	var names []string
	for i, row := range ratings {
		if slices.Contains(row, 0) {
			names = append(names, words.HarmlessLine(raters[i]))
		}
	}
	switch {
	case c.LeftOut == 0:
		return "none"
	case len(names) == 0:
		return fmt.Sprintf("%d of %d", c.LeftOut, c.LeftOut+c.Ballots)
	}
	return fmt.Sprintf("%d of %d: %s", c.LeftOut, c.LeftOut+c.Ballots, words.Listed(names, mostNamed))
}
