package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/plaintext"
	"soundings/flows"
	"soundings/flows/state"
)

// Who is asked a second time, since ballots that were counted are nobody's, is
// told why; the lead knows before they open the stage again.
func TestAStageOpenedAgainSaysWhyItAsks(t *testing.T) {
	m := momentAt(t, "framing/settling")
	lead := flows.ByLead{Who: "U1"}
	assert.Contains(t, reopenText(m.K), "asked anew")
	slot := flows.Slot{Screen: flows.ScreenStage, Arg: string(state.StageFraming)}
	asked := func(k state.Kickoff) string {
		posting, err := Message(k, slot, m.Now)
		require.NoError(t, err)
		return plaintext.Blocks(posting.Blocks)
	}
	m = take(t, m, flows.Reopen{ByLead: lead})
	assert.Contains(t, asked(m.K), "please answer again")
	m.K.Emptied = nil
	assert.NotContains(t, asked(m.K), "please answer again")
}
