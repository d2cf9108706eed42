package screens

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// dealtMoment is the rating of a list that is dealt out, two to each.
func dealtMoment(t *testing.T) moment {
	t.Helper()
	m := momentAt(t, "assumptions")
	for _, in := range []flows.Intent{flows.ChooseDeal{ByLead: flows.ByLead{Who: "U1"}, Each: 2, Second: 2}} {
		m = take(t, m, in)
	}
	for _, u := range m.K.Participants() {
		if m.K.Stage == state.StageAssumptions {
			m = take(t, m, flows.Finish{By: flows.By{Who: u}, Stage: state.StageAssumptions})
		}
	}
	require.Equal(t, state.StageRating, m.K.Stage)
	return m
}

func TestDealtBallotsLookAsAgreed(t *testing.T) {
	m := dealtMoment(t)
	show := func(name string, slot flows.Slot) {
		posting, err := Message(m.K, slot, m.Now)
		require.NoError(t, err)
		golden(t, "dealt--"+name, "Lock screen: "+posting.Text+"\n\n"+PlainText(posting))
	}
	form := func(name string, who state.UserID) {
		view, err := Open("rating.ballot", ballot(t, m, who, 0))
		require.NoError(t, err)
		golden(t, "dealt--"+name, PlainForm(view))
	}
	show("stage-rating-1", flows.Slot{Screen: flows.ScreenStage, Arg: "rating/1"})
	form("ballot-1", "U2")
	for i, u := range m.K.Participants() {
		for n, id := range m.K.Rounds[0].Share(u) {
			for _, scale := range []state.Scale{state.Importance, state.Evidence} {
				m = take(t, m, flows.Rate{By: flows.By{Who: u}, Round: 1, Assumption: id, Scale: scale, Value: 1 + (3*i+n)%9})
			}
		}
	}
	for _, u := range m.K.Participants() {
		if m.K.Window.Round == 1 {
			m = take(t, m, flows.Finish{By: flows.By{Who: u}, Stage: state.StageRating, Round: 1})
		}
	}
	require.Equal(t, 2, m.K.Window.Round)
	show("result-rating-1", flows.Slot{Screen: flows.ScreenResult, Arg: "rating/1"})
	show("stage-rating-2", flows.Slot{Screen: flows.ScreenStage, Arg: "rating/2"})
	form("ballot-2", "U2")
}

// A share is on the ballot, and nothing of another's.
func TestTheBallotShowsTheShare(t *testing.T) {
	m := dealtMoment(t)
	for _, u := range m.K.Participants() {
		view, err := Open("rating.ballot", ballot(t, m, u, 0))
		require.NoError(t, err)
		share := m.K.Rounds[0].Share(u)
		require.NotEmpty(t, share)
		var want []string
		for _, id := range share {
			want = append(want, "rate/importance/"+id, "rate/evidence/"+id)
		}
		assert.Equal(t, want, rateActions(view), "the ballot of %s", u)
		assert.Contains(t, PlainForm(view), fmt.Sprintf("You rate %d of %d; others rate the rest.", len(share), len(m.K.Rounds[0].IDs)))
	}
}

// The form for the lead comes back as it was filled in.
func TestChoosingWhoRatesWhat(t *testing.T) {
	m := momentAt(t, "brief")
	for _, c := range []struct {
		how, each, second string
		want              flows.ChooseDeal
	}{
		{"share", "10", "8", flows.ChooseDeal{Each: 10, Second: 8}},
		{"share", "", "", flows.ChooseDeal{Each: 15, Second: 12}},
		{"share", "0", "8", flows.ChooseDeal{Each: -1, Second: 8}}, // which flows refuses
		{"all", "10", "8", flows.ChooseDeal{}},
	} {
		c.want.ByLead = flows.ByLead{Who: "U1"}
		answer, err := Submit("rating.deal", pageFor(m, "U1"), entries("how", c.how, "each", c.each, "second", c.second))
		require.NoError(t, err)
		assert.Equal(t, []flows.Intent{c.want}, answer.Intents)
	}
	_, err := Open("rating.deal", screen.Page{Kickoff: dealtMoment(t).K, Viewer: "U1"})
	assert.True(t, isRefusal(err), "once the rating is open: %v", err)
}
