package screens

import (
	"slices"
	"strings"
	"testing"

	"soundings/flows"
)

func TestHours(t *testing.T) {
	k := filled{moment: "brief", form: "me.hours", who: "U2",
		fill: map[string]string{"zone": "Asia/Kathmandu", "days": "0,2,4", "from": "450", "to": "960"}}.taken(t)
	p, _ := k.Person("U2")
	if p.Zone != "Asia/Kathmandu" || !slices.Equal(p.Days, []int{0, 2, 4}) || p.From != 450 || p.To != 960 {
		t.Errorf("the hours are %+v", p)
	}
	// The form opens with what is set, odd minutes included, and sending it
	// as it opens changes nothing.
	m := momentAt(t, "brief")
	m = take(t, m, flows.SetHours{By: flows.By{Who: "U2"}, Zone: "Pacific/Auckland", Days: []int{1, 6}, From: 7*60 + 10, To: 24 * 60})
	view, err := Open("me.hours", pageFor(m, "U2"))
	if err != nil {
		t.Fatal(err)
	}
	checkView(t, "me.hours", view)
	answer, err := Submit("me.hours", pageFor(m, "U2"), fillIn(t, view, nil))
	if err != nil {
		t.Fatal(err)
	}
	before, _ := m.K.Person("U2")
	m = take(t, m, answer.Intents[0])
	after, _ := m.K.Person("U2")
	if before.Zone != after.Zone || !slices.Equal(before.Days, after.Days) || before.From != after.From || before.To != after.To {
		t.Errorf("sending the form as it opens changes %+v to %+v", before, after)
	}
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
		if answer.Errors[c.field] == "" || len(answer.Intents) > 0 {
			t.Errorf("%s: answer = %+v, want an error at %s", rule, answer, c.field)
		}
	}
	m, answer := filled{moment: "brief", form: "me.hours", who: "U2", fill: map[string]string{"zone": "Middle-earth"}}.submit(t)
	_, err := flows.Decide(m.K, answer.Intents[0], m.Now)
	if r, ok := err.(*flows.Refusal); !ok || r.Field != "zone" {
		t.Errorf("an unknown zone gives %v, want a refusal at the field zone", err)
	}
}

func TestMute(t *testing.T) {
	m := momentAt(t, "brief")
	for action, want := range map[string]bool{"me.mute": true, "me.unmute": false} {
		intent, thanks, err := Do(action, pageFor(m, "U2"))
		if err != nil {
			t.Fatal(err)
		}
		checkSentence(t, action, thanks)
		k := take(t, m, intent).K
		if p, _ := k.Person("U2"); p.Muted != want {
			t.Errorf("%s leaves muted %v, want %v", action, p.Muted, want)
		}
	}
}

func reminder(t *testing.T, m moment, who flows.UserID) Posting {
	t.Helper()
	posting, err := Message(m.K, flows.Slot{Screen: flows.ScreenReminder, Arg: "2027-03-02", To: who}, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	checkMessage(t, "reminder", posting)
	return posting
}

// A reminder asks only those who owe something, with the button that does it.
func TestRemindersAskWhoOwes(t *testing.T) {
	for _, c := range []struct {
		moment string
		who    flows.UserID
		want   string // the first button; empty: nothing is owed
	}{
		{"brief", "U3", "Mark as Read"}, {"brief", "U1", ""},
		{"framing", "U2", "Choose"}, {"framing", "U1", ""}, {"framing/settling", "U2", ""},
		{"roles", "U2", "Place Myself"},
		{"assumptions", "U2", "Add an Assumption"},
		{"rating", "U2", "Open My Ballot"}, {"rating", "U1", ""}, {"rating/2", "U1", "Open My Ballot"},
		{"backlog", "U3", "Say Which Kind of Risk"},
		{"timebox", "U2", "Vote on the Weeks"},
		{"close", "U1", "Add an Action"}, {"close", "U2", ""},
		{"underway", "U2", "Report"}, {"underway", "U1", ""}, {"underway", "U3", ""}, // U3 is informed
		{"underway/decision", "U3", "Stop Reminders"}, {"underway/decision", "U1", ""},
		{"ended", "U2", ""}, {"brief", "U99", ""},
	} {
		got := labels(reminder(t, momentAt(t, c.moment), c.who))
		if c.want == "" && len(got) > 0 || c.want != "" && (len(got) == 0 || got[0] != c.want) {
			t.Errorf("at %s %s is reminded with %q, want %q first", c.moment, c.who, got, c.want)
		}
	}
}

// A reminder of a vote among several has no button for one of them.
func TestAReminderDoesNotRecommend(t *testing.T) {
	for _, b := range buttonsIn(reminder(t, momentAt(t, "underway/decision"), "U3").Blocks) {
		if strings.HasPrefix(b.ActionID, "do/decision") {
			t.Errorf("the reminder has the button %q", b.Text.Text)
		}
	}
}

func TestRemindersKnowWhoMutedThem(t *testing.T) {
	m := momentAt(t, "brief")
	m = take(t, m, flows.Mute{By: flows.By{Who: "U3"}})
	if got := labels(reminder(t, m, "U3")); !slices.Contains(got, "Remind Me Again") || slices.Contains(got, "Stop Reminders") {
		t.Errorf("who muted reminders has the buttons %q", got)
	}
}

// Half a ballot is not lost, and the reminder says so.
func TestAReminderKnowsHowFarABallotIs(t *testing.T) {
	m := momentAt(t, "rating")
	if got, want := PlainText(reminder(t, m, "U2")), "Your ballot has 2 of 4 assumptions rated."; !strings.Contains(got, want) {
		t.Errorf("half way it says\n%s\nwant %q", got, want)
	}
	if got, want := PlainText(reminder(t, m, "U3")), "Rate 4 assumptions."; !strings.Contains(got, want) {
		t.Errorf("before it begins it says\n%s\nwant %q", got, want)
	}
}
