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

// A step that was open, and from which the lead went back, says whether it comes again.
func TestAStepThatIsNotOpenSaysWhetherItComesAgain(t *testing.T) {
	m := momentAt(t, "backlog")
	lead := flows.ByLead{Who: "U1"}
	says := func() string {
		posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: string(state.StageBacklog)}, m.Now)
		require.NoError(t, err)
		return plaintext.Blocks(posting.Blocks)
	}
	m = take(t, m, flows.Reopen{ByLead: lead})
	assert.Contains(t, says(), "This step opens again later.")
	m = take(t, m, flows.LeaveOut{ByLead: lead, Stages: []state.Stage{state.StageBacklog}})
	assert.Contains(t, says(), "The lead left this step out.")
	m = take(t, m, flows.LeaveOut{ByLead: lead})
	assert.Contains(t, says(), "This step opens again later.")
	m = take(t, m, flows.CallOff{ByLead: lead, Why: "The boats are sold."})
	assert.Contains(t, says(), "The kickoff ended before this step came again.")
}
