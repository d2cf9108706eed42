package screens

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// Feedback between two rounds moves people more when it holds reasons than when it
// holds figures alone, and the figures draw them to the middle: Rowe G. & Wright G.
// (1999), International Journal of Forecasting 15, 353-375 (from memory).
func TestReasonsStandBeforeFigures(t *testing.T) {
	m := momentAt(t, "rating/2")
	p := screen.Page{Kickoff: m.K, Viewer: "U2", Now: m.Now, Args: rating.Args(screen.Page{Kickoff: m.K}, 2, "")}
	view, err := Open("rating.ballot", p)
	require.NoError(t, err)
	inOrder(t, PlainForm(view), "A1 ", "Somebody: The ticket log", "Ana: I stood at the pier", "The group: importance")

	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenSplit, Arg: "A1"}, m.Now)
	require.NoError(t, err)
	inOrder(t, PlainText(posting), "What do you know that others may not?", "Say Why", "rated it")
}

// inOrder holds a text to parts that stand in it one after the other.
func inOrder(t *testing.T, text string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		_, rest, found := strings.Cut(text, part)
		require.True(t, found, "%q is missing, or stands too early, in\n%s", part, text)
		text = rest
	}
}

// Whoever leads is told that their name makes a reason wait, where it does.
func TestLeadsAreToldThatTheirReasonWaits(t *testing.T) {
	for _, c := range []struct {
		viewer  state.UserID
		reasons []state.Reason
		waits   bool
	}{
		{"U1", nil, true},
		{"U1", []state.Reason{{N: 1, Assumption: "A1", By: "U1"}}, true},
		{"U1", []state.Reason{{N: 1, Assumption: "A1", By: "U2"}}, false},
		{"U1", []state.Reason{{N: 1, Assumption: "A1"}}, false},
		{"U2", nil, false},
	} {
		m := momentAt(t, "rating/2")
		m.K.Reasons = c.reasons
		view, err := Open("rating.reason", screen.Page{Kickoff: m.K, Viewer: c.viewer, Now: m.Now, Args: rating.Args(screen.Page{Kickoff: m.K}, 2, "A1")})
		require.NoError(t, err)
		assert.Equal(t, c.waits, strings.Contains(PlainForm(view), "waits until somebody else has given one"), "%s, with %v", c.viewer, c.reasons)
	}
}

// Reasons come in while somebody turns the pages of a ballot: nothing moves to
// another page, and every page may still answer the one before.
func TestReasonsLeaveThePagesOfABallot(t *testing.T) {
	m := hostileMomentAt(t, "rating/2")
	ids := m.K.Rounds[0].IDs
	m.K.Rounds[1].IDs, m.K.Reasons = ids, nil // all of it, as if all were split
	p := screen.Page{Kickoff: m.K, Viewer: "U3", Now: m.Now, Args: rating.Args(screen.Page{Kickoff: m.K}, 2, "")}
	before := rating.Pages(p)
	require.Greater(t, len(before), 1)
	for i, id := range ids {
		for j := range 5 {
			p.Kickoff.Reasons = append(p.Kickoff.Reasons, state.Reason{N: len(p.Kickoff.Reasons) + 1, Assumption: id, By: "U2",
				Text: fmt.Sprintf("Reason %d.%d: %s", i, j, strings.Repeat("on that evening nobody had a ticket. ", 20))})
		}
	}
	assert.Equal(t, before, rating.Pages(p))
	for i := range p.Kickoff.Reasons {
		p.Kickoff.Reasons[i].Text = strings.Repeat("“<&>\n", 300)
	}
	for at := range rating.Pages(p) {
		p.Args.N = at
		view, err := Open("rating.ballot", p)
		require.NoError(t, err)
		assert.Less(t, viewBytes(t, view), answerLimit, "page %d", at+1)
	}
}
