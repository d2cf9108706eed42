package flows

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/engine"
	"soundings/flows/state"
)

// A lead who chose that the others rate gives no rating at a check-in, and votes like the others.
func TestWhoDoesNotRateRatesNothingAtACheckin(t *testing.T) {
	result := engine.Score(engine.Table{IDs: []string{"A1"}, Raters: []string{"tui"}, Importance: [][]engine.Rating{{8}}, Evidence: [][]engine.Rating{{2}}}, engine.Options{})
	k := state.Kickoff{Leads: []state.UserID{"ines"}, NotRating: []state.UserID{"ines"}, People: []state.Person{{ID: "ines"}, {ID: "tui"}},
		Assumptions: []state.Assumption{{ID: "A1"}, {ID: "A2", Since: 1}}, Rounds: []state.Round{{N: 1, IDs: []string{"A1"}, Result: &result}},
		Underway: state.Underway{Checkins: []state.Checkin{{N: 1}}}}
	for who, takes := range map[state.UserID]bool{"ines": false, "tui": true} {
		for _, in := range []Intent{
			RerateEvidence{By: By{Who: who}, Checkin: 1, Evidence: map[string]int{"A1": 7}},
			RateNew{By: By{Who: who}, Checkin: 1, Ratings: map[string]state.Marking{"A2": {Importance: 7, Evidence: 1}}},
		} {
			events, err := in.decide(&k, time.Time{})
			if takes {
				require.NoError(t, err, "%T", in)
				assert.Len(t, events, 1)
				continue
			}
			require.ErrorContains(t, err, "the others rate without you", "%T", in)
		}
		_, err := VoteConfidence{By: By{Who: who}, Checkin: 1, Confidence: 5}.decide(&k, time.Time{})
		require.NoError(t, err)
	}
}
