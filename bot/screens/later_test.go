package screens

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/flows"
	"soundings/flows/state"
)

// laterSlots are the screens from the rating on, as far as they exist at a
// moment.
func laterSlots(k state.Kickoff) []flows.Slot {
	var slots []flows.Slot
	add := func(screen, arg string) { slots = append(slots, flows.Slot{Screen: screen, Arg: arg}) }
	for _, arg := range []string{"rating/1", "rating/2", "backlog", "timebox", "close"} {
		add(flows.ScreenStage, arg)
	}
	for _, arg := range []string{"rating/1", "rating/2", "backlog", "timebox"} {
		add(flows.ScreenResult, arg)
	}
	for _, arg := range []string{"timebox", "close", "decision/1"} {
		add(flows.ScreenSettle, arg)
	}
	for _, part := range flows.Parts() {
		add(flows.ScreenPart, part)
	}
	if _, ok := k.Assumption("A1"); ok {
		add(flows.ScreenSplit, "A1")
	}
	for _, r := range k.Reasons {
		add(flows.ScreenReason, strconv.Itoa(r.N))
	}
	for _, c := range k.Underway.Checkins {
		for _, screen := range []string{flows.ScreenCheckin, flows.ScreenMoved, flows.ScreenDigest} {
			add(screen, strconv.Itoa(c.N))
		}
	}
	add(flows.ScreenForesight, "")
	add(flows.ScreenSummary, "")
	add(flows.ScreenDecision, "1")
	add(flows.ScreenOutcome, "1")
	return slots
}

// Every message has to draw at every moment: a slot may be brought up to date
// long after its stage, or after a stage was reopened.
func TestLaterMessagesKeepTheRules(t *testing.T) {
	for name, moments := range map[string]map[string]moment{"small": smallPlay(), "hostile": hostilePlay()} {
		for at, m := range moments {
			for _, slot := range laterSlots(m.K) {
				posting, err := Message(m.K, slot, m.Now)
				if !assert.NoError(t, err, "%s play at %s", name, at) {
					continue
				}
				checkMessage(t, name+" play at "+at+", "+slot.Name(), posting)
			}
		}
	}
}

func TestLaterMessagesRefuseWhatIsNotThere(t *testing.T) {
	m := momentAt(t, "ended")
	for _, slot := range []flows.Slot{
		{Screen: flows.ScreenSplit, Arg: "A99"}, {Screen: flows.ScreenReason, Arg: "99"}, {Screen: flows.ScreenReason, Arg: "x"},
		{Screen: flows.ScreenCheckin, Arg: "0"}, {Screen: flows.ScreenMoved, Arg: "99"}, {Screen: flows.ScreenDigest, Arg: ""},
		{Screen: flows.ScreenDecision, Arg: "7"}, {Screen: flows.ScreenOutcome, Arg: "0"}, {Screen: flows.ScreenPart, Arg: "gossip"},
		{Screen: flows.ScreenSettle, Arg: "decision/9"},
	} {
		_, err := Message(m.K, slot, m.Now)
		assert.Error(t, err, "%s was drawn, want an error", slot.Name())
	}
}

// What the channel sees, drawn as text: a reviewer can judge it without the
// platform.
func TestLaterMessagesLookAsAgreed(t *testing.T) {
	for _, test := range []struct{ moment, screen, arg string }{
		{"rating", flows.ScreenStage, "rating/1"},
		{"rating/2", flows.ScreenStage, "rating/1"},
		{"rating/2", flows.ScreenStage, "rating/2"},
		{"rating/2", flows.ScreenResult, "rating/1"},
		{"rating/2", flows.ScreenSplit, "A1"},
		{"rating/2", flows.ScreenReason, "1"},
		{"rating/2", flows.ScreenReason, "2"},
		{"backlog", flows.ScreenStage, "backlog"},
		{"backlog", flows.ScreenResult, "rating/2"},
		{"timebox", flows.ScreenResult, "backlog"},
		{"timebox", flows.ScreenForesight, ""},
		{"underway", flows.ScreenForesight, ""},
		{"timebox", flows.ScreenStage, "timebox"},
		{"timebox/settling", flows.ScreenSettle, "timebox"},
		{"close", flows.ScreenSettle, "timebox"},
		{"close", flows.ScreenResult, "timebox"},
		{"close", flows.ScreenStage, "close"},
		{"close", flows.ScreenSettle, "close"},
		{"underway", flows.ScreenSettle, "close"},
		{"underway", flows.ScreenSummary, ""},
		{"underway", flows.ScreenPart, "problem"},
		{"underway", flows.ScreenPart, "roles"},
		{"underway", flows.ScreenPart, "map"},
		{"underway", flows.ScreenPart, "backlog"},
		{"underway", flows.ScreenPart, "timebox"},
		{"underway", flows.ScreenPart, "questions"},
		{"underway", flows.ScreenPart, "actions"},
		{"underway", flows.ScreenCheckin, "1"},
		{"underway/moved", flows.ScreenCheckin, "1"},
		{"underway/moved", flows.ScreenMoved, "1"},
		{"underway/moved", flows.ScreenDigest, "1"},
		{"underway/decision", flows.ScreenDecision, "1"},
		{"underway/settling", flows.ScreenDecision, "1"},
		{"underway/settling", flows.ScreenSettle, "decision/1"},
		{"ended", flows.ScreenDecision, "1"},
		{"ended", flows.ScreenOutcome, "1"},
		{"ended", flows.ScreenSummary, ""},
	} {
		m := momentAt(t, test.moment)
		slot := flows.Slot{Screen: test.screen, Arg: test.arg}
		posting, err := Message(m.K, slot, m.Now)
		if !assert.NoError(t, err, "%s at %s", slot.Name(), test.moment) {
			continue
		}
		golden(t, goldenName(test.moment, slot.Name()), "Lock screen: "+posting.Text+"\n\n"+PlainText(posting))
	}
}
