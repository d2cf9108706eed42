package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// Before the rating a lead sees each thing that stands out, once, with the form that
// mends it, and of nobody that they wrote it.
func TestTheLeadSeesWhatStandsOut(t *testing.T) {
	m := momentAt(t, "assumptions")
	view, err := Open("assumptions.tidy", pageFor(m, "U1"))
	require.NoError(t, err)
	require.Contains(t, PlainForm(view), "Nothing stands out", "the list of the test kickoff is a tidy one")

	m.K.People[2].Name = "Zebulon"
	for _, text := range []string{
		"Crews can count bicycles without slowing the boarding down.", // as A2
		"Will passengers pay for a place?",
		"We should build an app that shows the room on board.",
		"Passengers should book earlier.",
	} {
		m = take(t, m, flows.AddAssumption{By: flows.By{Who: "U3"}, Text: text})
	}
	view, err = Open("assumptions.tidy", pageFor(m, "U1"))
	require.NoError(t, err)
	checkView(t, "assumptions.tidy", view)
	drawn := PlainForm(view)
	inOrder(t, drawn, "4 things to look at", "A2 The crew can count", "A6 Crews can count", "These two look alike", "Join Them",
		"A7 Will passengers pay", "reads like a question", "Change or Withdraw",
		"A8 We should build", "something to build", "A9 Passengers should book", "what should be")
	assert.NotContains(t, drawn, "Zebulon")

	missing, err := Open("lead.missing", pageFor(m, "U1"))
	require.NoError(t, err)
	assert.Contains(t, PlainForm(missing), "4 things on the list may be hard to rate as it stands")

	p := pageFor(m, "U1")
	p.Args = screen.Args{Kickoff: m.K.ID, Stage: string(state.StageAssumptions), Assumption: "A2"}
	join, err := Open("assumptions.join", p)
	require.NoError(t, err)
	assert.Contains(t, PlainForm(join), "[A2 The crew can count", "the one that stays is chosen already")
}

// However long the list is and whatever stands on it, the form fits.
func TestWhatStandsOutFitsAForm(t *testing.T) {
	m := hostileMomentAt(t, "assumptions")
	view, err := Open("assumptions.tidy", pageFor(m, "U1"))
	require.NoError(t, err)
	checkView(t, "assumptions.tidy", view)
}
