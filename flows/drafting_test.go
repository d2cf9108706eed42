package flows

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/event"
	"soundings/flows/state"
)

// How often drafts may be asked for is ours to say; no source.
func TestDraftsAreCounted(t *testing.T) {
	k := WithZones(state.Kickoff{Started: monday, Stage: state.StageFraming, People: []state.Person{{ID: "ines"}}, Leads: []state.UserID{"ines"}}, testZones)
	k.Window = state.Window{Stage: state.StageFraming, Phase: state.PhaseOpen, Opened: monday, Closes: monday.AddDate(0, 0, 2), Asked: []state.UserID{"ines"}}
	ask := AskDraft{By: By{Who: "ines"}, What: state.DraftLadder}
	for n := range MostDrafts {
		events, err := Decide(k, ask, monday)
		require.NoError(t, err, "request %d", n+1)
		k = Apply(k, k.Version+1, event.Record{At: monday, By: "ines", Events: events})
	}
	assert.Equal(t, MostDrafts, k.Framing.Drafts, "requests are counted")
	var refused *Refusal
	_, err := Decide(k, ask, monday)
	assert.ErrorAs(t, err, &refused, "one request more gives %v, want a refusal", err)
	k.Framing.Drafts = 0
	_, err = Decide(k, AskDraft{By: ask.By, What: "verdict"}, monday)
	assert.ErrorAs(t, err, &refused, "drafts of something else give %v, want a refusal", err)
}
