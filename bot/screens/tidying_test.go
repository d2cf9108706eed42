package screens

import (
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// Before the rating a lead sees each thing that stands out, once, with the form that
// mends it, and of nobody that they wrote it.
func TestTheLeadSeesWhatStandsOut(t *testing.T) {
	m := momentAt(t, "assumptions")
	view, err := Open("assumptions.tidy", pageFor(m, "U1"))
	require.NoError(t, err)
	require.Contains(t, PlainForm(view), "Nothing stands out", "the list of the test kickoff is a tidy one")

	m.K.People[2].Name = "Zebulon"
	for _, text := range []string{
		"Crews can count bicycles without slowing the boarding down.", // as A2
		"Will passengers pay for a place?",
		"We should build an app that shows the room on board.",
		"Passengers should book earlier.",
	} {
		m = take(t, m, flows.AddAssumption{By: flows.By{Who: "U3"}, Text: text})
	}
	view, err = Open("assumptions.tidy", pageFor(m, "U1"))
	require.NoError(t, err)
	checkView(t, "assumptions.tidy", view)
	drawn := PlainForm(view)
	inOrder(t, drawn, "4 things to look at", "A2 The crew can count", "A6 Crews can count", "These two look alike", "Join Them",
		"A7 Will passengers pay", "reads like a question", "Change or Withdraw",
		"A8 We should build", "something to build", "A9 Passengers should book", "what should be")
	assert.NotContains(t, drawn, "Zebulon")

	missing, err := Open("lead.missing", pageFor(m, "U1"))
	require.NoError(t, err)
	assert.Contains(t, PlainForm(missing), "4 things on the list may be hard to rate as it stands")

	p := pageFor(m, "U1")
	p.Args = screen.Args{Kickoff: m.K.ID, Stage: string(state.StageAssumptions), Assumption: "A2"}
	join, err := Open("assumptions.join", p)
	require.NoError(t, err)
	assert.Contains(t, PlainForm(join), "[A2 The crew can count", "the one that stays is chosen already")
}

// Two people are asked while the list is open. What they find stands there at once, without
// their names, and a lead is asked about it before the rating.
func TestTwoPeopleFindWhatSaysTheSame(t *testing.T) {
	m := momentAt(t, "assumptions")
	m.K.People[1].Name, m.K.People[2].Name = "Bezulon", "Zebulon"
	view, err := Open("tidying.ask", pageFor(m, "U1"))
	require.NoError(t, err)
	_, err = Open("tidying.ask", pageFor(m, "U2"))
	require.Error(t, err, "only a lead asks")
	send := func(form string, by state.UserID, view slack.ModalViewRequest, fill map[string]string) screen.Answer {
		answer, err := Submit(form, pageFor(m, by), fillIn(t, view, fill))
		require.NoError(t, err)
		require.Len(t, answer.Intents, 1)
		m = take(t, m, answer.Intents[0])
		return answer
	}
	send("tidying.ask", "U1", view, map[string]string{"people": "U2,U3"})
	_, err = Open("tidying.ask", pageFor(m, "U1"))
	require.ErrorContains(t, err, "already")

	view, err = Open("tidying.alike", pageFor(m, "U2"))
	require.NoError(t, err)
	send("tidying.alike", "U2", view, map[string]string{"set/2": "A3,A1"})
	_, err = Open("tidying.alike", pageFor(m, "U2"))
	require.Error(t, err, "who has answered has answered")

	view, err = Open("assumptions.tidy", pageFor(m, "U1"))
	require.NoError(t, err)
	drawn := PlainForm(view)
	inOrder(t, drawn, "A1 Passengers look at their phone", "A3 Passengers would take a later ferry", "finds that these two say the same", "Join Them", "one has answered")
	assert.NotContains(t, drawn, "zulon", "who found it is not shown")
	intent, _, err := Do("tidying.none", pageFor(m, "U3"))
	require.NoError(t, err)
	m = take(t, m, intent)

	m = take(t, m, flows.CloseNow{ByLead: flows.ByLead{Who: "U1"}})
	require.Equal(t, state.StageTidying, m.K.Stage)
	message, err := Message(m.K, flows.Slot{Screen: flows.ScreenSettle, Arg: "tidying", To: "U1"}, m.Now)
	require.NoError(t, err)
	assert.Contains(t, PlainText(message), "finds that these two say the same")
	assert.NotContains(t, PlainText(message), "zulon")
}

// However long the list is and whatever stands on it, the form fits.
func TestWhatStandsOutFitsAForm(t *testing.T) {
	m := hostileMomentAt(t, "assumptions")
	view, err := Open("assumptions.tidy", pageFor(m, "U1"))
	require.NoError(t, err)
	checkView(t, "assumptions.tidy", view)
}

// Once the list has closed, one form after the other: two that look alike are joined, one
// goes back to whoever wrote it, one is put into other words, one stays. Of nobody it says
// that they wrote it.
func TestTheLeadGoesThroughTheListOneByOne(t *testing.T) {
	m := momentAt(t, "tidying")
	authors := []string{"Ben", "Tui"}
	for i := range m.K.People[1:] {
		m.K.People[i+1].Name = authors[i%2] + "zebulon"
	}
	slot := flows.Slot{Screen: flows.ScreenSettle, Arg: "tidying", To: "U1"}
	message, err := Message(m.K, slot, m.Now)
	require.NoError(t, err)
	assert.NotContains(t, PlainText(message), "zebulon")
	p := pageFor(m, "U1")
	view, err := Open("tidying.look", p)
	require.NoError(t, err)
	for _, fill := range []map[string]string{
		{"keep/1": "A2"},
		{"word/2": "What do you believe they will do?"},
		{"text/3": "Passengers look at the sign."},
		{},
	} {
		drawn := PlainForm(view)
		assert.NotContains(t, drawn, "zebulon")
		checkView(t, "tidying.look", view)
		args, err := screen.ParseArgs(view.PrivateMetadata)
		require.NoError(t, err)
		p.Kickoff, p.Args = m.K, args
		answer, err := Submit("tidying.look", p, fillIn(t, view, fill))
		require.NoError(t, err)
		require.Empty(t, answer.Errors)
		require.Len(t, answer.Intents, 1)
		m = take(t, m, answer.Intents[0])
		if answer.Next != nil {
			view = *answer.Next
		}
	}
	assert.Equal(t, state.StageTidying, m.K.Stage, "the author has not answered")
	assert.Empty(t, m.K.Tidying.Unseen())
	joined, _ := m.K.Assumption("A6")
	assert.Equal(t, "A2", joined.JoinedTo)
	worded, _ := m.K.Assumption("A8")
	assert.Equal(t, "Passengers look at the sign.", worded.Text)

	// The author has the form of the entry now, and nobody else but the lead.
	p = pageFor(m, "U2")
	p.Args.Assumption = "A7"
	_, err = Open("assumptions.edit", p)
	require.NoError(t, err)
	p.Viewer = "U3"
	_, err = Open("assumptions.edit", p)
	require.Error(t, err)
	p.Viewer = "U2"
	intent, _, err := Do("tidying.stands", p)
	require.NoError(t, err)
	m = take(t, m, intent)
	assert.Equal(t, state.StageRating, m.K.Stage, "the answer opens the rating")
	kept, _ := m.K.Assumption("A7")
	assert.Equal(t, "Will passengers pay for a place?", kept.Text)
}

// Words of one's own and a word to the author are one too many, and what has changed
// meanwhile is not written over.
func TestAFormOfTheTidyingRefusesWhatCannotBe(t *testing.T) {
	m := momentAt(t, "tidying")
	p := pageFor(m, "U1")
	p.Args.N = 2
	view, err := Open("tidying.look", p)
	require.NoError(t, err)
	both := fillIn(t, view, map[string]string{"text/2": "Passengers pay.", "word/2": "What do you believe?"})
	answer, err := Submit("tidying.look", p, both)
	require.NoError(t, err)
	assert.Contains(t, answer.Errors["word/2"], "Either change the words yourself, or send it back.")

	p.Kickoff = take(t, m, flows.EditAssumption{By: flows.By{Who: "U1"}, ID: "A7", Text: "Passengers pay for a place."}).K
	answer, err = Submit("tidying.look", p, fillIn(t, view, nil))
	require.NoError(t, err)
	assert.Contains(t, answer.Errors["text/2"], "changed meanwhile")
}
