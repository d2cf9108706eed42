package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/zones"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// The page is one file: it asks the browser for nothing, and what people typed
// is text on it.
func TestTheWebPageIsOneFileAndRunsNothing(t *testing.T) {
	const nasty = `<script>alert(1)</script>"><img src=x onerror=alert(1)> {{.Title}}` + "\x00\uFFFD\u202e"
	r := engine.Score(engine.Table{IDs: []string{"A1"}, Raters: []string{"a"}, Importance: [][]engine.Rating{{9}}, Evidence: [][]engine.Rating{{1}}}, engine.Options{Seed: 1})
	k := flows.WithZones(state.Kickoff{
		Brief:  state.Brief{Title: nasty, Why: nasty, Problem: nasty, Links: []string{"javascript:alert(1)"}, Questions: []state.Question{{N: 1, Ask: nasty}}},
		People: []state.Person{{ID: "U1", Name: nasty}}, Leads: []state.UserID{"U1"},
		Assumptions: []state.Assumption{{ID: "A1", Text: nasty}}, Rounds: []state.Round{{N: 1, IDs: []string{"A1"}, Result: &r}},
		Backlog: state.Backlog{Tests: []state.Test{{N: 1, Assumption: "A1", Method: nasty, Owner: "U1"}}},
		Timebox: state.Timebox{Weeks: 2, StopIf: nasty},
		Actions: []state.Action{{N: 1, What: nasty, Owner: "U1", Due: "2027-03-01"}},
		Summary: state.Summary{Words: map[string]state.LeadWord{"problem": {Text: nasty, By: "U1"}}},
	}, new(zones.Cache))
	files, err := LastFiles(k)
	require.NoError(t, err)
	require.Equal(t, "summary.html", files[1].Name)
	page := string(files[1].Data)
	assert.Greater(t, strings.Count(page, "&lt;script&gt;alert(1)&lt;/script&gt;"), 8, "what was typed stands there as text")
	for _, no := range []string{"<script", "<img", "<link", "<iframe", "src=", "href=", "@import", "\x00", "\uFFFD"} {
		assert.NotContains(t, strings.ReplaceAll(page, "&lt;img src=x", ""), no)
	}
	assert.Equal(t, strings.Count(page, "\u202e"), strings.Count(page, "\u2069"), "each text that turns the line is set apart")
}
