package screens

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

func TestHours(t *testing.T) {
	k := filled{moment: "brief", form: "me.hours", who: "U2",
		fill: map[string]string{"zone": "Asia/Kathmandu", "days": "0,2,4", "from": "450", "to": "960"}}.taken(t)
	p, _ := k.Person("U2")
	assert.Equal(t, "Asia/Kathmandu", p.Zone, "the hours are %+v", p)
	assert.Equal(t, []int{0, 2, 4}, p.Days, "the hours are %+v", p)
	assert.Equal(t, 450, p.From, "the hours are %+v", p)
	assert.Equal(t, 960, p.To, "the hours are %+v", p)
	// The form opens with what is set, odd minutes included, and sending it
	// as it opens changes nothing.
	m := momentAt(t, "brief")
	m = take(t, m, flows.SetHours{By: flows.By{Who: "U2"}, Zone: "Pacific/Auckland", Days: []int{1, 6}, From: 7*60 + 10, To: 24 * 60})
	view, err := Open("me.hours", pageFor(m, "U2"))
	require.NoError(t, err)
	checkView(t, "me.hours", view)
	answer, err := Submit("me.hours", pageFor(m, "U2"), fillIn(t, view, nil))
	require.NoError(t, err)
	before, _ := m.K.Person("U2")
	m = take(t, m, answer.Intents[0])
	after, _ := m.K.Person("U2")
	assert.Equal(t, after.Zone, before.Zone, "sending the form as it opens changes %+v to %+v", before, after)
	assert.Equal(t, after.Days, before.Days, "sending the form as it opens changes %+v to %+v", before, after)
	assert.Equal(t, after.From, before.From, "sending the form as it opens changes %+v to %+v", before, after)
	assert.Equal(t, after.To, before.To, "sending the form as it opens changes %+v to %+v", before, after)
}

func TestHoursThatMakeNoSense(t *testing.T) {
	for rule, c := range map[string]struct {
		fill  map[string]string
		field string
	}{
		"ends before it begins": {map[string]string{"from": "960", "to": "540"}, "to"},
		"ends as it begins":     {map[string]string{"from": "540", "to": "540"}, "to"},
	} {
		_, answer := filled{moment: "brief", form: "me.hours", who: "U2", fill: c.fill}.submit(t)
		assert.NotEqual(t, "", answer.Errors[c.field], "%s: answer = %+v, want an error at %s", rule, answer, c.field)
		assert.Empty(t, answer.Intents, "%s: answer = %+v, want an error at %s", rule, answer, c.field)
	}
	m, answer := filled{moment: "brief", form: "me.hours", who: "U2", fill: map[string]string{"zone": "Middle-earth"}}.submit(t)
	_, err := flows.Decide(m.K, answer.Intents[0], m.Now)
	r, ok := err.(*flows.Refusal)
	assert.True(t, ok, "an unknown zone gives %v, want a refusal at the field zone", err)
	assert.Equal(t, "zone", r.Field, "an unknown zone gives %v, want a refusal at the field zone", err)
}

func TestMute(t *testing.T) {
	m := momentAt(t, "brief")
	for action, want := range map[string]bool{"me.mute": true, "me.unmute": false} {
		intent, thanks, err := Do(action, pageFor(m, "U2"))
		require.NoError(t, err)
		checkSentence(t, action, thanks)
		k := take(t, m, intent).K
		p, _ := k.Person("U2")
		assert.Equal(t, want, p.Muted, "%s leaves muted", action)
	}
}

func reminder(t *testing.T, m moment, who state.UserID) screen.Posting {
	t.Helper()
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenReminder, Arg: "2027-03-02", To: who}, m.Now)
	require.NoError(t, err)
	checkMessage(t, "reminder", posting)
	return posting
}

// A reminder asks only those who owe something, with the button that does it.
func TestRemindersAskWhoOwes(t *testing.T) {
	for _, c := range []struct {
		moment string
		who    state.UserID
		want   string // the first button; empty: nothing is owed
	}{
		{"brief", "U3", "Mark as Read"}, {"brief", "U1", ""},
		{"framing", "U2", "Choose"}, {"framing", "U1", ""}, {"framing/settling", "U2", ""},
		{"roles", "U2", "Place Myself"},
		{"assumptions", "U2", "Add an Assumption"},
		{"rating", "U2", "Open My Ballot"}, {"rating", "U1", ""}, {"rating/2", "U1", "Open My Ballot"},
		{"backlog", "U3", "Name the Risks"},
		{"timebox", "U2", "Vote on the Weeks"},
		{"close", "U1", "Add an Action"}, {"close", "U2", ""},
		{"underway", "U2", "Check In"}, {"underway", "U1", ""}, {"underway", "U3", ""}, // U3 is informed
		{"underway/decision", "U3", "Stop Reminders"}, {"underway/decision", "U1", ""},
		{"ended", "U2", ""}, {"brief", "U99", ""},
	} {
		got := labels(reminder(t, momentAt(t, c.moment), c.who))
		assert.False(t, c.want == "" && len(got) > 0 || c.want != "" && (len(got) == 0 || got[0] != c.want), "at %s %s is reminded with %q, want %q first", c.moment, c.who, got, c.want)
	}
}

// A reminder of a vote among several has no button for one of them.
func TestAReminderDoesNotRecommend(t *testing.T) {
	for _, b := range buttonsIn(reminder(t, momentAt(t, "underway/decision"), "U3").Blocks) {
		assert.False(t, strings.HasPrefix(b.ActionID, "do/decision"), "the reminder has the button %q", b.Text.Text)
	}
}

func TestRemindersKnowWhoMutedThem(t *testing.T) {
	m := momentAt(t, "brief")
	m = take(t, m, flows.Mute{By: flows.By{Who: "U3"}})
	got := labels(reminder(t, m, "U3"))
	assert.Contains(t, got, "Remind Me Again", "who muted reminders has the buttons")
	assert.NotContains(t, got, "Stop Reminders", "who muted reminders has the buttons")
}

// Half a ballot is not lost, and the reminder says so.
func TestAReminderKnowsHowFarABallotIs(t *testing.T) {
	m := momentAt(t, "rating")
	got, want := PlainText(reminder(t, m, "U2")), "Your ballot has 2 of 4 assumptions rated."
	assert.Contains(t, got, want, "half way it says\n%s\nwant", got)
	got, want = PlainText(reminder(t, m, "U3")), "Rate 4 assumptions."
	assert.Contains(t, got, want, "before it begins it says\n%s\nwant", got)
}
