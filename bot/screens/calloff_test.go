package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// calledOffAt is a kickoff that its lead calls off at a moment, and what follows.
func calledOffAt(t *testing.T, m moment, why string) (moment, []flows.Effect) {
	t.Helper()
	in := flows.CallOff{ByLead: flows.ByLead{Who: m.K.Lead().ID}, Why: why}
	events, err := flows.Decide(m.K, in, m.Now)
	require.NoError(t, err)
	record := event.Record{At: m.Now, By: in.Who, Events: events}
	m.K = flows.Apply(m.K, m.K.Version+1, record)
	return m, flows.React(m.K, record)
}

// Wherever a kickoff stands when it is called off, what is drawn anew has no button
// left, and every form and button of it says why nothing is taken.
func TestCalledOffLeavesNothingToPress(t *testing.T) {
	eachMoment(t, func(t *testing.T, m moment) {
		if m.K.Stage == state.StageEnded {
			return
		}
		off, effects := calledOffAt(t, m, long("O", flows.MaxSentence))
		told := 0
		for _, e := range effects {
			if e.Do != flows.Show {
				continue
			}
			posting, err := Message(off.K, e.Slot, off.Now)
			require.NoError(t, err)
			checkMessage(t, e.Slot.Name(), posting)
			for _, b := range buttonsIn(posting.Blocks) {
				assert.Contains(t, []string{"open/brief.whole", "open/framing.whole", "open/assumptions.all", "open/backlog.list", "open/timebox.why"}, b.ActionID, "%s: what only shows may stay", e.Slot.Name())
			}
			if e.Slot.Screen == flows.ScreenCalledOff {
				told++
			}
		}
		assert.Equal(t, 1, told, "the channel hears it once")
		for name, form := range forms() {
			if name == "brief.start" || form.May == nil {
				continue
			}
			_, err := Open(name, screen.Page{Kickoff: off.K, Viewer: off.K.Lead().ID, Now: off.Now, Args: screen.Args{Kickoff: off.K.ID, Stage: string(m.K.Stage), N: 1}})
			assert.Error(t, err, "the form %s still opens", name)
		}
		p := screen.Page{Kickoff: off.K, Viewer: off.K.Lead().ID, Now: off.Now}
		assert.EqualError(t, screen.MayTakePart(p), "This kickoff was called off, so nothing can be changed. The reason stands in the channel, and so does what was found out until then.")
	})
}

func TestCalledOffLooksAsAgreed(t *testing.T) {
	for _, at := range []string{"rating", "roles/settling", "underway"} {
		off, effects := calledOffAt(t, momentAt(t, at), "The pier closes for good in May.")
		text := ""
		for _, e := range effects {
			if e.Do == flows.Show {
				posting, err := Message(off.K, e.Slot, off.Now)
				require.NoError(t, err)
				text += "== " + e.Slot.Name() + "\nLock screen: " + posting.Text + "\n\n" + PlainText(posting) + "\n"
			}
		}
		desk, err := Message(off.K, flows.Slot{Screen: flows.ScreenDesk, To: "U1"}, off.Now)
		require.NoError(t, err)
		golden(t, goldenName(at, "called-off"), text+"== desk\n"+PlainText(desk))
	}
	form := forms()["lead.call-off"].Draw("lead.call-off", screen.Page{Kickoff: kickoffAt(t, state.StageRating), Viewer: "U1"})
	golden(t, "rating--form-lead.call-off-U1", PlainForm(form))
}
