// Package report says what a kickoff leaves behind: the parts of its summary
// in the thread, the pages that keep it whole, and the files that are shared
// with it. It knows no chat platform; screens draws the parts as messages.
//
// Start from three functions:
//
//	Files   everything to keep: Markdown, HTML, CSV, JSON, ICS, the map
//	Thread  a part of the summary, as it stands in the thread
//	Canvas  the summary as a page of the channel
//
// What a kickoff holds is gathered once, in gathered.go, into what facts.go lays down. The JSON is the facts as
// they stand; summary.md.tmpl, summary.html.tmpl and canvas.md.tmpl are the pages; a spreadsheet
// takes the assumptions, an issue tracker the tests and actions, a calendar the check-ins. A thread is read live, in the reader's own time zone,
// so its parts are made of the kickoff: a row of parts.go and a function each.
// The pictures are drawn in chart.
package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path"
	"strconv"
	"strings"

	"soundings/bot/report/chart"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/tally"
)

// A File is something to keep: it is shared in a thread, or written to a
// folder.
type File struct {
	Name  string // as in a folder, with its ending
	Title string // as in the thread
	Alt   string // what a picture shows, for those who cannot see it
	Data  []byte
}

// Shared is the file as it goes into a thread, where it is opened with a tap. A table
// begins with a byte order mark there: without it some spreadsheets take UTF-8 for
// another encoding, and names with accents for other letters.
func (f File) Shared() File {
	if path.Ext(f.Name) == ".csv" {
		f.Data = append([]byte("\uFEFF"), f.Data...)
	}
	return f
}

// Files draws the files of a kickoff as it stands. The same kickoff gives
// the same bytes. Without a test or an action there is no table of tasks.
func Files(k state.Kickoff) ([]File, error) {
	f, m := factsOf(k), drawnMap(k)
	picture := chart.Picture{Title: mapTitle(k, len(k.Rounds)), Result: m, Plan: tally.Schedule(&k), Since: sinceOf(k, len(k.Underway.Checkins))}
	draws := []func() (File, error){
		func() (File, error) { return summaryFile(f) },
		func() (File, error) { return webFile(k, f, m) },
		func() (File, error) { return assumptionsFile(f), nil },
		func() (File, error) { return kickoffFile(f) },
		func() (File, error) { return mapOf(picture, "png") },
		func() (File, error) { return mapOf(picture, "svg") },
		func() (File, error) { return calendarFile(k), nil },
	}
	if len(f.Tests)+len(f.Actions) > 0 {
		draws = append(draws, func() (File, error) { return tasksFile(k, f), nil })
	}
	return drawn(k, draws...)
}

// drawnMap is the last map; an empty one before anything was rated.
func drawnMap(k state.Kickoff) engine.Result {
	if m := shownMap(k); m != nil {
		return *m
	}
	return engine.Score(engine.Table{}, engine.Options{})
}

// LastFiles are those that say what came of it; with the calendar, where dates in it
// do not come any more. The others stay as they were when the summary was posted, in
// whose thread they stand.
func LastFiles(k state.Kickoff) ([]File, error) {
	f := factsOf(k)
	draws := []func() (File, error){
		func() (File, error) { return summaryFile(f) },
		func() (File, error) { return webFile(k, f, drawnMap(k)) },
		func() (File, error) { return kickoffFile(f) },
	}
	if k.Timebox.Ends.After(endedAt(k)) {
		draws = append(draws, func() (File, error) { return calendarFile(k), nil })
	}
	return drawn(k, draws...)
}

// NewDates is the calendar alone: what has changed where the discovery goes on.
func NewDates(k state.Kickoff) ([]File, error) { return []File{calendarFile(k)}, nil }

func drawn(k state.Kickoff, draws ...func() (File, error)) ([]File, error) {
	var files []File
	for _, draw := range draws {
		f, err := draw()
		if err != nil {
			return nil, fmt.Errorf("draw the files of kickoff %s: %w", k.ID, err)
		}
		files = append(files, f)
	}
	return files, nil
}

// MapFile draws the map of one round as a picture.
func MapFile(k state.Kickoff, round int) (File, error) {
	if round < 1 || round > len(k.Rounds) || k.Rounds[round-1].Result == nil {
		return File{}, fmt.Errorf("draw the map of round %d: it has no result", round)
	}
	return mapOf(chart.Picture{Title: mapTitle(k, round), Result: *k.Rounds[round-1].Result}, "png")
}

// MapText says in words what the map of one round shows; empty where it has no result.
func MapText(k state.Kickoff, round int) string {
	if round < 1 || round > len(k.Rounds) || k.Rounds[round-1].Result == nil {
		return ""
	}
	return chart.Describe(*k.Rounds[round-1].Result)
}

// MovedFile draws the kickoff's map with the ways that evidence has gone up to a check-in.
func MovedFile(k state.Kickoff, checkin int) (File, error) {
	p := movedPicture(k, checkin)
	p.Title += fmt.Sprintf(", check-in %d", checkin)
	return mapOf(p, "png")
}

// MovedMapText says in words what that picture shows.
func MovedMapText(k state.Kickoff, checkin int) string { return movedPicture(k, checkin).Describe() }

func movedPicture(k state.Kickoff, checkin int) chart.Picture {
	return chart.Picture{Title: words.Clip(k.Brief.Title, 60), Result: drawnMap(k), Since: sinceOf(k, checkin)}
}

// mapTitle names a kickoff, and the day on which a round of rating closed; where few
// answered, the picture says so wherever it ends up.
func mapTitle(k state.Kickoff, round int) string {
	title := words.Clip(k.Brief.Title, 60)
	for _, w := range append(k.Past[:len(k.Past):len(k.Past)], k.Window) {
		if w.Stage == state.StageRating && w.Round == round && !w.Closed.IsZero() {
			title += ", " + dateText(leadDay(k, w.Closed), "2 January 2006")
		}
	}
	if words.ThinText(k, state.StageRating) != "" {
		title += ", few answered"
	}
	return title
}

// mapOf draws the map, and in the summary the weeks of the plan below it.
func mapOf(p chart.Picture, format string) (File, error) {
	alt := p.Describe()
	p.Result = state.WithoutFew(p.Result)
	data, err := chart.Draw(p, format)
	if err != nil {
		return File{}, err
	}
	if n := len(p.Plan.Weeks); n > 0 {
		last := p.Plan.Weeks[n-1]
		alt += fmt.Sprintf(" Below it the plan: by week %d, %d of %d assumptions to test first would have a first result.", last.Week, last.Done, p.Plan.TestFirst)
	}
	title := "Map of the assumptions"
	if format == "svg" { // beside the same as a picture
		title += ", for print"
	}
	return File{Name: "map." + format, Title: title, Alt: alt, Data: data}, nil
}

// sinceOf is what the check-ins up to one have changed on the map: the evidence of each
// assumption from where it stood to where it stands, and what came later.
func sinceOf(k state.Kickoff, checkin int) chart.Since {
	k.Underway.Checkins = k.Underway.Checkins[:min(max(0, checkin), len(k.Underway.Checkins))]
	since := chart.Since{New: state.Placed(&k)}
	ways := map[string]chart.Way{}
	for _, c := range k.Underway.Checkins {
		for _, m := range c.Moves() {
			if !m.To.Defined() { // few rated it, so an arrow would give ratings away
				continue
			}
			way, moved := ways[m.Assumption]
			if !moved {
				a, _ := k.Scored(m.Assumption)
				way = chart.Way{ID: m.Assumption, Importance: float64(a.Importance.Median), From: float64(m.From)}
			}
			way.To = float64(m.To)
			ways[m.Assumption] = way
		}
	}
	for _, id := range k.Order() {
		if way, moved := ways[id]; moved && way.From != way.To {
			since.Ways = append(since.Ways, way)
		}
	}
	return since
}

func kickoffFile(f facts) (File, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(f)
	return File{Name: "kickoff.json", Title: "The kickoff, for programs", Data: b.Bytes()}, err
}

// assumptionsFile is the backlog as a table for a spreadsheet, in test order.
func assumptionsFile(f facts) File {
	rows := [][]string{{"rank", "id", "statement", "zone", "importance_median", "importance_iqr", "evidence_median",
		"evidence_iqr", "importance_agreement", "evidence_agreement", "kind", "thin", "because", "joined"}}
	for _, a := range f.Backlog {
		rows = append(rows, assumptionRow(a))
	}
	return File{Name: "assumptions.csv", Title: "The assumptions, for a spreadsheet", Data: []byte(table(rows))}
}

func assumptionRow(a assumption) []string {
	s, rank := a.Score, ""
	if s.Rank > 0 {
		rank = words.RankText(s.Rank)
	}
	joined := each(a.Joined, func(t typed) string { return string(t) })
	return []string{rank, a.ID, string(a.Statement), a.Zone, cell(s.Importance, s.Importance.Median), cell(s.Importance, s.Importance.IQR),
		cell(s.Evidence, s.Evidence.Median), cell(s.Evidence, s.Evidence.IQR), string(s.Importance.Agreement),
		string(s.Evidence.Agreement), a.Kind, strconv.FormatBool(s.Thin), string(a.Because), strings.Join(joined, " | ")}
}

// cell is a figure of a spread, empty where nobody rated.
func cell(s engine.Spread, f engine.Figure) string {
	if s.N == 0 || !f.Defined() {
		return ""
	}
	return strconv.FormatFloat(float64(f), 'g', -1, 64)
}
