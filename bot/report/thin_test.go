package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/zones"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// What few answered says so wherever it is used: in the summary's thread, in its first
// message, and in its files.
func TestFewAnswersAreTold(t *testing.T) {
	one := engine.Score(engine.Table{IDs: []string{"A1"}, Statements: []string{"People look at their phones."}, Raters: []string{"a"},
		Importance: [][]engine.Rating{{9}}, Evidence: [][]engine.Rating{{1}}}, engine.Options{Asked: 3, Seed: 1})
	k := flows.WithZones(state.Kickoff{Assumptions: []state.Assumption{{ID: "A1", Text: "People look at their phones."}},
		Past: []state.Window{{Stage: state.StageRating, Round: 1, Asked: []state.UserID{"a", "b", "c"}, Thin: true,
			Answers: &state.Answers{Heard: 1}, Phase: state.PhaseClosed}},
		Rounds: []state.Round{{N: 1, IDs: []string{"A1"}, Result: &one}}}, new(zones.Cache))
	const few = "“Rate the assumptions”: 1 of 3 answered. Take it with care."

	part, known := Thread(k, "map")
	require.True(t, known)
	require.Len(t, part.Above, 1)
	assert.Equal(t, para("**Few answered.** %s", few), part.Above[0])
	part, _ = Thread(k, "roles")
	assert.Empty(t, part.Above)
	assert.Contains(t, Root(k, k.Started).Blocks, Note(few))

	files, err := Files(k)
	require.NoError(t, err)
	told := map[string]bool{}
	for _, f := range files {
		switch f.Name {
		case "summary.md":
			told[f.Name] = true
			assert.Contains(t, string(f.Data), "**Few answered.** "+few)
		case "summary.html":
			told[f.Name] = true
			assert.Contains(t, string(f.Data), "<b>Few answered.</b> "+few)
		case "map.svg":
			told[f.Name] = true
			assert.Contains(t, string(f.Data), "few answered")
		}
	}
	assert.Len(t, told, 3)
	assert.Contains(t, Canvas(k).Markdown, "**Few answered.**")
}
