package rating

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
	"soundings/flows/state"
)

// An entry is as long as what is shown of it with everything chosen, whatever people
// typed and whatever they call it.
func TestEntriesAreMeasuredWhole(t *testing.T) {
	k := &state.Kickoff{Rounds: make([]state.Round, 1)}
	k.Assumptions = []state.Assumption{
		{ID: "A1", Text: "Families book on the evening before."},
		{ID: "A10", Text: "“Sold out” <b>keeps</b> people away & \n annoys them.", Because: "Heard at the quay."},
		{ID: `R-"12"<é>`, Text: ""},
	}
	p := screen.Page{Kickoff: *k, Viewer: "U1"}
	p.Args.Round = 1
	size := entrySize(p)
	for _, a := range k.Assumptions {
		whole := block.Size(ballotEntry(p, a.ID, state.Marking{Importance: 9, Evidence: 9})...)
		assert.Equal(t, whole, size(a.ID), a.ID)
	}
}
