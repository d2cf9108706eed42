package score

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"soundings/bot/report/chart"
	"soundings/bot/words"
	"soundings/engine"
)

//go:embed page.html.tmpl
var pageText string

// The template escapes whatever people typed, by where it stands.
var page = template.Must(template.New("page").Parse(pageText))

// pageFacts are what the page shows.
type pageFacts struct {
	Title, First, Alt string
	Map               template.URL // a picture in the page itself, in which no script runs
	Zones             []pageZone
	Notes             []note
}

type pageZone struct {
	Heading string
	Rows    []pageRow
}

type pageRow struct{ Rank, ID, Statement, Importance, Evidence, Also string }

// A note is a section beneath the list.
type note struct {
	Title string
	Says  []string
}

// Page tells a result as one HTML file that needs no other: the map, the list in
// test order, and the notes of [Text]. It asks the browser to load and run
// nothing.
func Page(r engine.Result, o Options) ([]byte, error) {
	r = harmless(r)
	svg, err := chart.Draw(chart.Picture{Result: r}, "svg")
	if err != nil {
		return nil, err
	}
	f := pageFacts{
		Title: fmt.Sprintf("%s, %s", words.Count(len(r.Assumptions), "assumption", "assumptions"), words.Count(r.Raters, "rater", "raters")),
		First: words.FirstText(r), Alt: chart.Describe(r),
		Map: template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(svg)),
	}
	t := newReport(r, Options{Width: 1 << 30, Ballots: o.Ballots}) // a line is a paragraph
	for _, z := range append(slices.Clone(r.Zones()), "") {
		if rows := t.pageRows(z); len(rows) > 0 {
			heading := "Not ranked: nobody rated them on one of the scales"
			if z != "" {
				heading = words.ZoneHeading(z)
			}
			f.Zones = append(f.Zones, pageZone{heading, rows})
		}
	}
	f.Notes = t.notes()
	var b bytes.Buffer
	if err := page.Execute(&b, f); err != nil {
		return nil, fmt.Errorf("fill in the page: %w", err)
	}
	return b.Bytes(), nil
}

func (t *report) pageRows(z engine.Zone) []pageRow {
	var rows []pageRow
	for _, id := range words.InZone(t.result, z) {
		a := t.scores[id]
		rows = append(rows, pageRow{words.RankText(a.Rank), id, words.HarmlessLine(a.Statement),
			spreadWords(a.Importance), spreadWords(a.Evidence), strings.Join(t.remarks(a), " ")})
	}
	return rows
}

// notes are the sections of the text beneath its list.
func (t *report) notes() []note {
	var all []note
	for _, write := range []func(){t.splits, t.thin, t.firm, t.group, t.gaps} {
		t.text.Reset()
		write()
		lines := slices.DeleteFunc(strings.Split(t.text.String(), "\n"), func(line string) bool { return line == "" })
		if len(lines) > 0 {
			all = append(all, note{lines[0], lines[1:]})
		}
	}
	return all
}
