package flows

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/flows/event"
	"soundings/flows/state"
)

// Whoever was silent for two steps is told once where things stand, whatever they answer:
// a step, a ballot, or a check-in.
func TestWhoeverComesBackIsToldOnce(t *testing.T) {
	all := []state.UserID{"ines", "tui", "kofi"}
	k := begin()
	k.Leads, k.People = []state.UserID{"ines"}, []state.Person{{ID: "ines"}, {ID: "tui"}, {ID: "kofi"}}
	for _, s := range []state.Stage{state.StageBrief, state.StageRoles, state.StageAssumptions} {
		k.Past = append(k.Past, state.Window{Stage: s, Asked: all, Phase: state.PhaseClosed, Done: map[state.UserID]time.Time{"kofi": monday}})
	}
	for _, c := range []struct {
		stage state.Stage
		e     event.Event
		tells bool
	}{
		{state.StageRating, event.Rated{Round: 1, Assumption: "A1", Scale: state.Evidence, Value: 3}, true},
		{state.StageRating, event.FinishedStage{Stage: state.StageRating}, true},
		{state.StageBacklog, event.FinishedStage{Stage: state.StageBacklog}, true},
		{state.StageTimebox, event.WeeksVoted{Weeks: 4}, true},
		{state.StageUnderway, event.ConfidenceVoted{Confidence: 5}, true},
		{state.StageUnderway, event.ResultReported{Test: 1, K: 1, N: 2}, true},
		{state.StageUnderway, event.ReminderMuted{}, false}, // asks for quiet, and answers nothing
	} {
		k.Stage = c.stage
		told := func(u state.UserID) bool {
			b := reaction{k: &k}
			b.cameBack(event.Record{By: u, At: monday, Events: []event.Event{c.e}})
			return len(b.effects) > 0
		}
		k.Posted = nil
		assert.Equal(t, c.tells, told("tui"), "%s, %T", c.stage, c.e)
		assert.False(t, told("kofi"), "who was never away")
		assert.False(t, told("ines"), "who leads it")
		k.Posted = map[string]state.Posting{Slot{Screen: ScreenStanding, Arg: cameBackTo + "roles", To: "tui"}.Name(): {}}
		assert.False(t, told("tui"), "a second time")
	}
}

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
