package screens

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/plaintext"
	"soundings/flows"
	"soundings/flows/state"
)

// What waits for somebody in a private message waits on their home tab as well.

// A question without an answer waits for a lead, until it has one; once the discovery is
// underway, each check-in names it.
func TestAQuestionWaitsOnALeadsHome(t *testing.T) {
	m := momentAt(t, "framing")
	const waits = "asks about the brief: What is a pier? *all*"
	home := func(m moment, who state.UserID) string {
		return plaintext.Blocks(home(HomePage{Viewer: who, Now: m.Now, Kickoffs: []state.Kickoff{m.K}}).Blocks.BlockSet)
	}
	m = take(t, m, flows.Ask{By: flows.By{Who: "U3"}, Ask: "What is a pier? *all*"})
	assert.Contains(t, home(m, "U1"), waits)
	assert.Contains(t, home(m, "U1"), "[Answer]")
	assert.NotContains(t, home(m, "U3"), waits, "whoever asked")

	later := m
	later.K.Stage = state.StageUnderway
	assert.NotContains(t, home(later, "U1"), waits)

	answered := take(t, m, flows.Answer{By: flows.By{Who: "U2"}, N: len(m.K.Brief.Questions), Answer: "A place to board."})
	assert.NotContains(t, home(answered, "U1"), waits)

	for n := range 2 * mostQuestions {
		m = take(t, m, flows.Ask{By: flows.By{Who: "U3"}, Ask: fmt.Sprintf("And question %d?", n)})
	}
	assert.Contains(t, home(m, "U1"), "And question 0?")
	assert.NotContains(t, home(m, "U1"), fmt.Sprintf("And question %d?", mostQuestions), "the home tab is not a list of questions")
}

// What was sent back waits for whoever wrote it, and stands on nobody else's home tab.
func TestWhatWasSentBackWaitsOnItsAuthorsHome(t *testing.T) {
	m := momentAt(t, "tidying")
	m = take(t, m, flows.SendBack{ByLead: flows.ByLead{Who: "U1"}, N: 2, Word: "What do you believe?"})
	const waits = "asks you to look again at A7"
	for _, who := range m.K.Participants() {
		view := home(HomePage{Viewer: who, Now: m.Now, Kickoffs: []state.Kickoff{m.K}})
		drawn := plaintext.Blocks(view.Blocks.BlockSet)
		if who != "U2" {
			assert.NotContains(t, drawn, waits, who)
			continue
		}
		require.Contains(t, drawn, waits)
		assert.Equal(t, []string{"Change the Words", "Leave It as It Is"}, labelsOf(view)[:2])
		for _, b := range buttonsIn(view.Blocks.BlockSet)[:2] {
			checkButton(t, "home of the author", m, b)
		}
	}
	p := pageFor(m, "U2")
	p.Args.Assumption = "A7"
	stands, _, err := Do("tidying.stands", p)
	require.NoError(t, err)
	left := take(t, m, stands)
	drawn := plaintext.Blocks(home(HomePage{Viewer: "U2", Now: left.Now, Kickoffs: []state.Kickoff{left.K}}).Blocks.BlockSet)
	assert.NotContains(t, drawn, waits)
}

// The question what says the same waits for the two who were asked, until they answer.
func TestWhatSaysTheSameWaitsOnTheHomeOfThoseAsked(t *testing.T) {
	m := momentAt(t, "tidying/asked") // U2 and U3 were asked, and U2 has answered
	const waits = "asks you which entries on the list say the same"
	drawn := func(m moment, who state.UserID) string {
		return plaintext.Blocks(home(HomePage{Viewer: who, Now: m.Now, Kickoffs: []state.Kickoff{m.K}}).Blocks.BlockSet)
	}
	assert.NotContains(t, drawn(m, "U1"), waits)
	assert.NotContains(t, drawn(m, "U2"), waits)
	require.Contains(t, drawn(m, "U3"), waits)
	none, _, err := Do("tidying.none", pageFor(m, "U3"))
	require.NoError(t, err)
	assert.NotContains(t, drawn(take(t, m, none), "U3"), waits)
}
