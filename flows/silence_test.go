package flows

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/flows/state"
)

// Who said nothing in the last two steps that asked them is named to the lead. Steps
// with ballots say of nobody whether they answered.
func TestSilent(t *testing.T) {
	all := []state.UserID{"ines", "tui", "kofi"}
	closed := func(s state.Stage, done ...state.UserID) state.Window {
		w := state.Window{Stage: s, Asked: all, Phase: state.PhaseClosed, Done: map[state.UserID]time.Time{}}
		for _, u := range done {
			w.Done[u] = monday
		}
		return w
	}
	for rule, c := range map[string]struct {
		past []state.Window
		done []state.UserID // of the open one
		want []state.UserID
	}{
		"one step is too few":                    {[]state.Window{closed(state.StageBrief, "ines")}, nil, nil},
		"two in a row":                           {[]state.Window{closed(state.StageBrief, "ines", "tui"), closed(state.StageRoles, "ines"), closed(state.StageAssumptions)}, nil, []state.UserID{"tui", "kofi"}},
		"a ballot between them":                  {[]state.Window{closed(state.StageBrief, "tui"), closed(state.StageFraming), closed(state.StageRoles, "tui")}, nil, []state.UserID{"kofi"}},
		"the last step was answered":             {[]state.Window{closed(state.StageBrief), closed(state.StageRoles, "tui", "kofi")}, nil, nil},
		"the open one was answered":              {[]state.Window{closed(state.StageBrief), closed(state.StageRoles)}, []state.UserID{"kofi"}, []state.UserID{"tui"}},
		"a step that was left out is no silence": {[]state.Window{closed(state.StageBrief), {Stage: state.StageRoles, Asked: all, Why: state.ClosedSkipped}}, nil, nil},
	} {
		k := begin()
		k.Stage, k.Leads, k.Past = state.StageBacklog, []state.UserID{"ines"}, c.past
		k.People = []state.Person{{ID: "ines"}, {ID: "tui"}, {ID: "kofi"}}
		k.Window = closed(state.StageBacklog, c.done...)
		k.Window.Phase = state.PhaseOpen
		assert.Equal(t, c.want, Silent(&k), rule)
	}
}
