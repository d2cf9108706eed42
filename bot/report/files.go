package report

import (
	"fmt"

	"soundings/bot/report/chart"
	"soundings/engine"
	"soundings/flows"
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
func Files(k flows.Kickoff) ([]File, error) {
	return drawn(k, summaryFile, assumptionsFile, kickoffFile, mapPNG, mapSVG, calendarFile)
}

// LastFiles are those that say what came of it. The others stay as they were
// when the summary was posted, in whose thread they stand.
func LastFiles(k flows.Kickoff) ([]File, error) { return drawn(k, summaryFile, kickoffFile) }

func drawn(k flows.Kickoff, draws ...func(flows.Kickoff) (File, error)) ([]File, error) {
	var files []File
	for _, draw := range draws {
		f, err := draw(k)
		if err != nil {
			return nil, fmt.Errorf("draw the files of kickoff %s: %w", k.ID, err)
		}
		files = append(files, f)
	}
	return files, nil
}

// MapFile draws the map of one round as a picture.
func MapFile(k flows.Kickoff, round int) (File, error) {
	if round < 1 || round > len(k.Rounds) || k.Rounds[round-1].Result == nil {
		return File{}, fmt.Errorf("draw the map of round %d: it has no result", round)
	}
	return mapOf(*k.Rounds[round-1].Result, engine.Plan{}, "png")
}

// lastMap is the map that the summary shows; an empty one before any rating.
func lastMap(k flows.Kickoff) engine.Result {
	if m := k.Map(); m != nil {
		return *m
	}
	return engine.Score(engine.Table{}, engine.Options{})
}

func mapPNG(k flows.Kickoff) (File, error) { return mapOf(lastMap(k), k.Schedule(), "png") }
func mapSVG(k flows.Kickoff) (File, error) { return mapOf(lastMap(k), k.Schedule(), "svg") }

// mapOf draws the map, and in the summary the weeks of the plan below it.
func mapOf(r engine.Result, plan engine.Plan, format string) (File, error) {
	data, err := chart.Draw(r, plan, format)
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
