package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
)

// Whoever ticks that a test touches health, children, or people who depend on them
// reads at once whom to ask, and what else to mind.
func TestWhatToMindFollowsTheTick(t *testing.T) {
	m := momentAt(t, "backlog")
	p := screen.Page{Kickoff: m.K, Viewer: "U3", Now: m.Now, Args: screen.Args{Kickoff: m.K.ID}}
	typed := typedIn(entries("assumption", "A2", "method", "Enquiry"), "effort", "1")
	answer, err := Submit("backlog.own", p, typed)
	require.NoError(t, err)
	require.Nil(t, answer.Next, "without a pass mark and without the tick there is nothing to say")

	answer, err = Submit("backlog.own", p, ticked(typed, "care", "care"))
	require.NoError(t, err)
	require.NotNil(t, answer.Next)
	page := PlainForm(*answer.Next)
	assert.Contains(t, page, "Ask whoever is in charge of research ethics or data protection. An action for it is noted.")
	assert.Contains(t, page, "Whoever withdraws later has everything deleted that they gave.")

	m = take(t, m, answer.Intents[0])
	p.Kickoff, p.Args.N = m.K, len(m.K.Backlog.Tests)
	view, err := Open("backlog.guide", p)
	require.NoError(t, err)
	assert.Contains(t, PlainForm(view), "Let somebody ask on whom they do not depend")
}
