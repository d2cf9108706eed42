package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows"
	"soundings/flows/state"
)

// Who has said nothing in two steps is named to the lead, with words to write to them,
// and to nobody else.
func TestSilenceIsToldToTheLeadAlone(t *testing.T) {
	m := momentAt(t, "backlog")
	m.K.People[1].Name = "Zebulon"
	for i := range m.K.Past {
		delete(m.K.Past[i].Done, "U2")
	}
	delete(m.K.Brief.Read, "U2")
	for i := range m.K.Assumptions {
		if m.K.Assumptions[i].By == "U2" {
			m.K.Assumptions[i].By = "U1"
		}
	}
	delete(m.K.Roles.Self, "U2")
	for i := range m.K.Roles.Named {
		m.K.Roles.Named[i].By = "U1"
	}
	for i := range m.K.Brief.Questions {
		m.K.Brief.Questions[i].By = "U1"
	}
	require.Equal(t, []state.UserID{"U2"}, flows.Silent(&m.K))

	desk, err := Message(m.K, flows.Slot{Screen: flows.ScreenDesk, To: "U1"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, PlainText(desk), "Nothing in two steps from: Zebulon. Press Who Is Missing for words to write to them.")
	view, err := Open("lead.missing", pageFor(m, "U1"))
	require.NoError(t, err)
	assert.Contains(t, PlainForm(view), "You could write to each of them yourself")

	stage, err := Message(m.K, flows.Slot{Screen: flows.ScreenStage, Arg: "backlog"}, m.Now)
	require.NoError(t, err)
	assert.NotContains(t, PlainText(stage), "Zebulon")
	_, err = Open("lead.missing", pageFor(m, "U3"))
	assert.Error(t, err)
}
