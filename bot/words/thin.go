package words

import (
	"fmt"
	"strings"

	"soundings/flows"
	"soundings/flows/state"
)

// ThinText says of stages that fewer than half of those asked answered there: "“Who
// does what”: 2 of 8 answered. Take it with care." It stands wherever what came of
// them is used, and is empty where enough answered.
func ThinText(k state.Kickoff, stages ...state.Stage) string {
	var parts []string
	for _, s := range stages {
		for _, w := range lastWindows(k, s) {
			if !w.Thin || k.LeavesOut(s) {
				continue
			}
			parts = append(parts, fmt.Sprintf("“%s”: %d of %d answered.", roundTitle(s, w.Round), flows.Heard(&k, w), len(w.Asked)))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, " ") + " Take it with care."
}

// roundTitle is what people call a stage, or a round of it.
func roundTitle(s state.Stage, round int) string {
	if round > 1 {
		return flows.TitleOf(s) + ", second round"
	}
	return flows.TitleOf(s)
}

// StageTitles says what people call stages, named as flows.StageArg names them.
func StageTitles(args []string) string {
	var titles []string
	for _, arg := range args {
		titles = append(titles, "“"+roundTitle(flows.ParseStageArg(arg))+"”")
	}
	return And(titles, len(titles))
}

// lastWindows are the windows of a stage that count, one a round.
func lastWindows(k state.Kickoff, s state.Stage) []state.Window {
	var last []state.Window
	for _, w := range append(k.Past[:len(k.Past):len(k.Past)], k.Window) {
		switch {
		case w.Stage != s:
		case len(last) > 0 && w.Round <= last[len(last)-1].Round: // it was opened again
			last = []state.Window{w}
		default:
			last = append(last, w)
		}
	}
	return last
}

// NotRatingText says that leads chose to let the others rate alone: "As the lead,
// Ines chose beforehand not to rate.", or once somebody else leads, "Ines, who led then,
// chose beforehand not to rate." It is empty where everybody rates.
func NotRatingText(k state.Kickoff) string {
	var names []string
	lead := true
	for _, u := range k.NotRating {
		names, lead = append(names, Clip(k.Name(u), 60)), lead && k.IsLead(u)
	}
	switch who := And(names, len(names)); {
	case len(names) == 0:
		return ""
	case !lead:
		return who + ", who led then, chose beforehand not to rate."
	case len(names) > 1:
		return fmt.Sprintf("As leads, %s chose beforehand not to rate.", who)
	default:
		return fmt.Sprintf("As the lead, %s chose beforehand not to rate.", who)
	}
}
