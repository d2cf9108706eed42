package flows

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/flows/state"
)

// By hand: the brief closes on Tuesday 2 March at nine. The framing takes the lead's
// Tuesday, and Wednesday to be settled; the roles Thursday and Friday; assumptions, rating
// and tests Monday to Wednesday; the time box Thursday and Friday; the next steps Monday
// 15 March. Four weeks later it is Monday 12 April, and 17:00 in Lisbon is 16:00 UTC by then.
func TestDecisionAbout(t *testing.T) {
	k := begin()
	k.Started, k.Stage, k.Pace = monday, state.StageBrief, 1
	k.Leads, k.People = []state.UserID{"ines"}, []state.Person{{ID: "ines", Zone: "Europe/Lisbon"}}
	k.Window = state.Window{Stage: state.StageBrief, Phase: state.PhaseOpen, Closes: monday.Add(24 * time.Hour)}
	at, certain := DecisionAbout(&k)
	assert.False(t, certain)
	assert.Equal(t, time.Date(2027, 4, 12, 16, 0, 0, 0, time.UTC), at)
	k.Timebox.Weeks = 2
	at, _ = DecisionAbout(&k)
	assert.Equal(t, time.Date(2027, 3, 29, 16, 0, 0, 0, time.UTC), at)
	k.Timebox.Ends = monday
	at, certain = DecisionAbout(&k)
	assert.True(t, certain)
	assert.Equal(t, monday, at)
	k.LeftOut = []state.Stage{state.StageTimebox}
	at, _ = DecisionAbout(&k)
	assert.Zero(t, at)
}
