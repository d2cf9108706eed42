package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// What a lead reads when the channel is out of reach, drawn as text.
func TestShutLooksAsAgreed(t *testing.T) {
	for name, c := range map[string]struct {
		shut  state.Unreachable
		ended bool
	}{
		"archived":  {state.Unreachable{Why: state.ChannelArchived, N: 1}, false},
		"removed":   {state.Unreachable{Why: state.BotRemoved, N: 1}, false},
		"deleted":   {state.Unreachable{Why: state.ChannelDeleted, N: 1}, true},
		"back":      {state.Unreachable{N: 1}, false},
		"abandoned": {state.Unreachable{Why: state.ChannelArchived, N: 1}, true},
	} {
		m := momentAt(t, "roles")
		m.K.Unreachable = c.shut
		if c.ended {
			m.K.Stage = state.StageEnded
		}
		p, err := Message(m.K, flows.Slot{Screen: flows.ScreenUnreachable, Arg: "1", To: "U1"}, m.Now)
		require.NoError(t, err)
		checkMessage(t, name, p)
		checkPoint(t, name, p)
		for _, b := range buttonsIn(p.Blocks) {
			checkButton(t, name, m, b)
		}
		golden(t, "roles--shut-"+name, "Lock screen: "+p.Text+"\n\n"+PlainText(p))
	}
}

// A summary of a kickoff that was left says that nothing was decided.
func TestNoDecisionIsSaid(t *testing.T) {
	assert.Equal(t, "none", words.ChoiceText("", 0), "no decision reads")
}

// What the store has lost is told in plain words, with names that are text and
// nothing else; of a loss before the last one nothing is left to do.
func TestLossIsTold(t *testing.T) {
	m := momentAt(t, "rating")
	tell := func(arg string) string {
		t.Helper()
		p, err := Message(m.K, flows.Slot{Screen: flows.ScreenLoss, Arg: arg, To: "U1"}, m.Now)
		require.NoError(t, err)
		checkMessage(t, "the loss", p)
		return PlainText(p)
	}
	m.K.Loss = state.Loss{After: 7, People: []state.UserID{"U2", "U3"}}
	text := tell("7")
	assert.Contains(t, text, "Please ask these people to look whether their last answers are still there, and to give them again where not: "+m.K.Name("U2")+", "+m.K.Name("U3")+".")
	assert.NotContains(t, tell("5"), "Please ask")
	m.K.Loss.People = nil
	assert.Contains(t, tell("7"), "Please ask everybody")
}
