package report

import (
	"bytes"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"soundings/bot/report/chart"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
	"soundings/flows/tally"
)

// The summary as a web page for people outside the chat: one file that needs
// no other and runs no script. It is short, and says first what matters.

var webPage = template.Must(template.New("summary.html.tmpl").Funcs(template.FuncMap(pageFuncs)).ParseFS(templates, "summary.html.tmpl"))

// typedOnWeb is what the mark of a typed text becomes when html/template
// escapes it.
const typedOnWeb = "\uFFFD"

// webFacts are what the page shows beside the facts.
type webFacts struct {
	facts
	First      []matter
	More       int    // to be tested first beside those
	Next       string // the day of the next check-in; empty when none is planned
	Map        template.HTML
	Confidence []dot
	Found      map[string]string // by assumption
}

// A dot is the confidence at a check-in, in the picture of how it went.
type dot struct {
	X, Y  int
	Value engine.Figure
	N     int // of the check-in; 0 before the first test
}

// Facts are the facts alone, for what the pages share.
func (w webFacts) Facts() facts { return w.facts }

func webFile(k state.Kickoff, f facts, r engine.Result) (File, error) {
	svg, err := chart.Draw(chart.Picture{Result: state.WithoutFew(r), Plan: tally.Schedule(&k), Since: sinceOf(k, len(k.Underway.Checkins))}, "svg")
	if err != nil {
		return File{}, err
	}
	w := webFacts{facts: f, Map: template.HTML(svg[bytes.Index(svg, []byte("<svg")):]), Found: foundOf(f), First: f.Three, Next: nextCheckin(k), Confidence: confidenceDots(f)}
	w.More = len(f.TestFirst) - len(w.First)
	var b strings.Builder
	if err := webPage.Execute(&b, w); err != nil {
		return File{}, fmt.Errorf("fill in a web page: %w", err)
	}
	// The texts are escaped by now; what is left is to contain what would reach
	// beyond them on the line.
	pieces := strings.Split(b.String(), typedOnWeb)
	for i := 1; i < len(pieces); i += 2 {
		pieces[i] = words.Contained(pieces[i])
	}
	return File{Name: "summary.html", Title: "The summary, as a page for any browser", Data: []byte(strings.Join(pieces, ""))}, nil
}

// foundOf is the last that was found out about each assumption.
func foundOf(f facts) map[string]string {
	found := map[string]string{}
	for _, c := range f.Underway.Checkins {
		for _, r := range c.Results {
			found[r.Assumption] = r.Finding
		}
	}
	return found
}

// nextCheckin is the day of the first check-in after the last one.
func nextCheckin(k state.Kickoff) string {
	if k.Stage == state.StageEnded {
		return ""
	}
	times := flows.CheckinTimes(&k)
	if n := len(k.Underway.Checkins); n > 0 {
		last := k.Underway.Checkins[n-1].Opened
		times = times[max(0, slices.IndexFunc(append(times, last.AddDate(1, 0, 0)), last.Before)):]
	}
	if len(times) == 0 {
		return ""
	}
	return leadDay(k, times[0])
}

// confidenceDots place the confidence of each check-in in a picture of 300 by
// 100, where 1 of 9 is at the bottom.
func confidenceDots(f facts) []dot {
	var dots []dot
	add := func(median engine.Figure, n int) {
		if median.Defined() {
			dots = append(dots, dot{Y: 90 - int(10*(float64(median)-1)), Value: median, N: n})
		}
	}
	for _, c := range f.Underway.Checkins {
		if len(dots) == 0 { // without a check-in there is nothing to lay beside it
			add(f.Timebox.Worth.Median, 0)
		}
		add(c.Confidence.Median, c.N)
	}
	for i := range dots {
		dots[i].X = 40 + 220*i/max(1, len(dots)-1)
	}
	return dots
}
