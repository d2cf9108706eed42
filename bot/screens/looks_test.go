package screens

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/flows"
	"soundings/flows/state"
)

// What people see up to the assumptions, and what one person sees, drawn as
// text: wording is reviewed by reading testdata/screens.
func TestEarlyMessagesLookAsAgreed(t *testing.T) {
	for _, test := range []struct {
		moment, screen, arg string
		to                  state.UserID
	}{
		{"brief", flows.ScreenStage, "brief", ""},
		{"framing", flows.ScreenStage, "brief", ""},
		{"brief", flows.ScreenQuestion, "1", ""},
		{"brief", flows.ScreenQuestion, "2", ""},
		{"brief", flows.ScreenAsked, "1", "U1"},
		{"brief", flows.ScreenAsked, "2", "U1"},
		{"framing", flows.ScreenStage, "framing", ""},
		{"framing/settling", flows.ScreenStage, "framing", ""},
		{"framing/settling", flows.ScreenSettle, "framing", "U1"},
		{"roles", flows.ScreenSettle, "framing", "U1"},
		{"roles", flows.ScreenResult, "framing", ""},
		{"roles", flows.ScreenStage, "roles", ""},
		{"roles/settling", flows.ScreenSettle, "roles", "U1"},
		{"assumptions", flows.ScreenResult, "roles", ""},
		{"assumptions", flows.ScreenStage, "assumptions", ""},
		{"roles", flows.ScreenReopened, "roles/20", ""},
		{"assumptions", flows.ScreenReopened, "roles/20", ""},
		{"tidying", flows.ScreenResult, "assumptions", ""},
		{"tidying", flows.ScreenSettle, "tidying", "U1"},
		{"tidying", flows.ScreenDesk, "", "U1"},
		{"tidying/back", flows.ScreenSettle, "tidying", "U1"},
		{"tidying/back", flows.ScreenBack, "A7", "U2"},
		{"rating", flows.ScreenBack, "A7", "U2"},
		{"tidying/asked", flows.ScreenSettle, "tidying", "U1"},
		{"tidying/asked", flows.ScreenAlike, "", "U2"},
		{"tidying/asked", flows.ScreenAlike, "", "U3"},
		{"rating", flows.ScreenAlike, "", "U3"},
		{"rating", flows.ScreenSettle, "tidying", "U1"},
		{"rating", flows.ScreenStage, "assumptions", ""},
		{"rating", flows.ScreenResult, "assumptions", ""},
		{"brief", flows.ScreenDesk, "", "U1"},
		{"framing/settling", flows.ScreenDesk, "", "U1"},
		{"assumptions", flows.ScreenDesk, "", "U1"},
		{"underway/moved", flows.ScreenDesk, "", "U1"},
		{"ended", flows.ScreenDesk, "", "U1"},
		{"brief", flows.ScreenDesk, "", "U2"},
		{"brief/quorum", flows.ScreenQuorum, "brief", "U1"},
		{"framing", flows.ScreenQuorum, "brief", "U1"},
		{"brief", flows.ScreenJoin, "U99", "U1"},
		{"brief", flows.ScreenJoin, "U2", "U1"},
		{"brief", flows.ScreenReminder, "2027-03-02", "U3"},
		{"framing", flows.ScreenReminder, "2027-03-02", "U2"},
		{"roles", flows.ScreenReminder, "2027-03-02", "U2"},
		{"assumptions", flows.ScreenReminder, "2027-03-02", "U2"},
		{"rating", flows.ScreenReminder, "2027-03-02", "U2"},
		{"rating", flows.ScreenReminder, "2027-03-02", "U3"},
		{"rating", flows.ScreenReminder, "2027-03-02", "U1"},
		{"backlog", flows.ScreenReminder, "2027-03-02", "U2"},
		{"timebox", flows.ScreenReminder, "2027-03-02", "U2"},
		{"close", flows.ScreenReminder, "2027-03-02", "U1"},
		{"underway", flows.ScreenReminder, "2027-03-02", "U2"},
		{"underway/decision", flows.ScreenReminder, "2027-03-02", "U3"},
		{"framing", flows.ScreenStanding, "12", "U2"},
		{"rating", flows.ScreenStanding, "30", "U2"},
		{"underway", flows.ScreenStanding, "90", "U2"},
		{"ended", flows.ScreenStanding, "99", "U2"},
	} {
		m := momentAt(t, test.moment)
		m.K.Asking = []state.JoinRequest{{Person: state.Person{ID: "U99", Name: "Mika"}}}
		slot := flows.Slot{Screen: test.screen, Arg: test.arg, To: test.to}
		posting, err := Message(m.K, slot, m.Now)
		if !assert.NoError(t, err, "%s at %s", slot.Name(), test.moment) {
			continue
		}
		golden(t, goldenName(test.moment, slot.Name()), "Lock screen: "+posting.Text+"\n\n"+PlainText(posting))
	}
}

func TestEarlyFormsLookAsAgreed(t *testing.T) {
	for _, test := range []struct {
		moment, form string
		viewer       state.UserID
	}{
		{"brief", "brief.start", "U1"},
		{"brief", "brief.edit", "U1"},
		{"brief", "brief.whole", "U2"},
		{"brief", "brief.ask", "U2"},
		{"brief", "brief.answer", "U1"},
		{"framing", "framing.add", "U2"},
		{"framing", "framing.questions", "U2"},
		{"framing", "framing.edit", "U1"},
		{"framing", "framing.vote", "U1"},
		{"framing/settling", "framing.settle", "U1"},
		{"roles", "roles.place", "U1"},
		{"roles", "roles.name", "U2"},
		{"roles/settling", "roles.settle", "U1"},
		{"assumptions", "assumptions.add", "U2"},
		{"assumptions", "assumptions.list", "U2"},
		{"assumptions", "assumptions.list", "U1"},
		{"assumptions", "assumptions.edit", "U1"},
		{"assumptions", "assumptions.join", "U1"}, {"assumptions", "assumptions.tidy", "U1"},
		{"assumptions", "assumptions.import", "U2"},
		{"tidying", "tidying.look", "U1"},
		{"tidying", "tidying.ask", "U1"}, {"tidying/asked", "tidying.alike", "U3"},
		{"brief", "lead.more", "U1"},
		{"assumptions", "lead.more", "U1"},
		{"underway/moved", "lead.more", "U1"},
		{"brief", "lead.missing", "U1"},
		{"rating", "lead.missing", "U1"},
		{"underway/decision", "lead.missing", "U1"},
		{"brief", "lead.extend", "U1"},
		{"brief", "rating.deal", "U1"},
		{"brief", "lead.handover", "U1"},
		{"brief", "lead.add", "U1"},
		{"brief", "lead.invite", "U1"},
		{"brief", "lead.remove", "U1"},
		{"brief", "me.hours", "U2"},
		{"roles", "framing.whole", "U2"},
		{"rating", "assumptions.all", "U2"},
		{"close", "timebox.why", "U2"},
	} {
		p := pageFor(momentAt(t, test.moment), test.viewer)
		p.Args.Choice = "C1"
		view, err := Open(test.form, p)
		if !assert.NoError(t, err, "%s at %s", test.form, test.moment) {
			continue
		}
		golden(t, goldenName(test.moment, "form-"+test.form+"-"+string(test.viewer)), PlainForm(view))
	}
}
