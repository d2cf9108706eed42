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
// takes the assumptions. A thread is read live, in the reader's own time zone,
// so its parts are made of the kickoff: a row of parts.go and a function each.
// The pictures are drawn in chart.
package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"soundings/bot/report/chart"
	"soundings/bot/words"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// A File is something to keep: it is shared in a thread, or written to a
// folder.
type File struct {
	Name  string // as in a folder, with its ending
	Title string // as in the thread
	Alt   string // what a picture shows, for those who cannot see it
	Data  []byte
}

// Files draws the files of a kickoff as it stands. The same kickoff gives
// the same bytes.
func Files(k state.Kickoff) ([]File, error) {
	f, m := factsOf(k), drawnMap(k)
	return drawn(k,
		func() (File, error) { return summaryFile(f) },
		func() (File, error) { return webFile(k, f, m) },
		func() (File, error) { return assumptionsFile(f) },
		func() (File, error) { return kickoffFile(f) },
		func() (File, error) { return mapOf(mapTitle(k, len(k.Rounds)), m, flows.Schedule(&k), "png") },
		func() (File, error) { return mapOf(mapTitle(k, len(k.Rounds)), m, flows.Schedule(&k), "svg") },
		func() (File, error) { return calendarFile(k), nil })
}

// drawnMap is the last map; an empty one before anything was rated.
func drawnMap(k state.Kickoff) engine.Result {
	if m := shownMap(k); m != nil {
		return *m
	}
	return engine.Score(engine.Table{}, engine.Options{})
}

// LastFiles are those that say what came of it. The others stay as they were
// when the summary was posted, in whose thread they stand.
func LastFiles(k state.Kickoff) ([]File, error) {
	f := factsOf(k)
	return drawn(k,
		func() (File, error) { return summaryFile(f) },
		func() (File, error) { return webFile(k, f, drawnMap(k)) },
		func() (File, error) { return kickoffFile(f) })
}

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
	return mapOf(mapTitle(k, round), *k.Rounds[round-1].Result, engine.Plan{}, "png")
}

// mapTitle names a kickoff, and the day on which a round of rating closed.
func mapTitle(k state.Kickoff, round int) string {
	title := words.Clip(k.Brief.Title, 60)
	for _, w := range append(k.Past[:len(k.Past):len(k.Past)], k.Window) {
		if w.Stage == state.StageRating && w.Round == round && !w.Closed.IsZero() {
			title += ", " + dateText(leadDay(k, w.Closed), "2 January 2006")
		}
	}
	return title
}

// mapOf draws the map, and in the summary the weeks of the plan below it.
func mapOf(title string, r engine.Result, plan engine.Plan, format string) (File, error) {
	data, err := chart.Draw(chart.Picture{Title: title, Result: state.WithoutFew(r), Plan: plan}, format)
	if err != nil {
		return File{}, err
	}
	alt := chart.Describe(r)
	if n := len(plan.Weeks); n > 0 {
		last := plan.Weeks[n-1]
		alt += fmt.Sprintf(" Below it the plan: by week %d, %d of %d assumptions to test first would have a first result.", last.Week, last.Done, plan.TestFirst)
	}
	return File{Name: "map." + format, Title: "Map of the assumptions", Alt: alt, Data: data}, nil
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
func assumptionsFile(f facts) (File, error) {
	rows := [][]string{{"rank", "id", "statement", "zone", "importance_median", "importance_iqr", "evidence_median",
		"evidence_iqr", "importance_agreement", "evidence_agreement", "kind", "thin", "because", "joined"}}
	for _, a := range f.Backlog {
		rows = append(rows, words.Defused(assumptionRow(a)))
	}
	var b bytes.Buffer
	err := csv.NewWriter(&b).WriteAll(rows)
	return File{Name: "assumptions.csv", Title: "The assumptions, for a spreadsheet", Data: b.Bytes()}, err
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

// calendarFile holds the check-ins and the end of the time box, to be put
// into anybody's calendar.
func calendarFile(k state.Kickoff) File {
	cal := ics.NewCalendarFor("soundings")
	cal.SetMethod(ics.MethodPublish)
	for i, at := range flows.CheckinTimes(&k) {
		calendarEntry(cal, k, fmt.Sprintf("checkin-%d", i+1), at, 30*time.Minute, "Check-in: "+k.Brief.Title,
			"Owners report how their tests went; the core team says what it now thinks. It is open for one working day, in the channel.")
	}
	if !k.Timebox.Ends.IsZero() {
		calendarEntry(cal, k, "end", k.Timebox.Ends.Add(-30*time.Minute), 30*time.Minute, "The time box ends: "+k.Brief.Title,
			"Build, stop, or another time box: the vote opens in the channel.")
	}
	return File{Name: "checkins.ics", Title: "Check-ins and the end, for your calendar", Data: []byte(cal.Serialize())}
}

// calendarEntry stamps entries with the day on which the box began, so that
// the same kickoff gives the same bytes.
func calendarEntry(cal *ics.Calendar, k state.Kickoff, which string, at time.Time, length time.Duration, title, about string) {
	e := cal.AddEvent(fmt.Sprintf("%s-%s@soundings", k.ID, which))
	e.SetDtStampTime(k.Timebox.Starts.UTC().Truncate(24 * time.Hour))
	e.SetStartAt(at.UTC())
	e.SetEndAt(at.Add(length).UTC())
	e.SetSummary(title)
	e.SetDescription(about)
}
