package screens

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
	"soundings/flows"
	"soundings/flows/state"
)

// Every message and every form at every moment of both plays, held to the
// rules of rules_test.go.

// earlySlots are the screens up to the assumptions, and those that concern
// one person, as far as they exist at a moment.
func earlySlots(k state.Kickoff) []flows.Slot {
	lead := k.Leads[0]
	var slots []flows.Slot
	for _, arg := range []string{"brief", "framing", "roles", "assumptions"} {
		slots = append(slots, flows.Slot{Screen: flows.ScreenStage, Arg: arg})
	}
	for _, arg := range []string{"framing", "roles", "assumptions"} {
		slots = append(slots, flows.Slot{Screen: flows.ScreenResult, Arg: arg})
	}
	for _, r := range k.Tidying.Remarks {
		a, _ := k.Assumption(r.About[0])
		slots = append(slots, flows.Slot{Screen: flows.ScreenBack, Arg: a.ID, To: a.By})
	}
	for _, arg := range []string{"framing", "roles", "tidying"} {
		slots = append(slots, flows.Slot{Screen: flows.ScreenSettle, Arg: arg, To: lead})
	}
	for _, q := range k.Brief.Questions {
		slots = append(slots, flows.Slot{Screen: flows.ScreenQuestion, Arg: strconv.Itoa(q.N)}, flows.Slot{Screen: flows.ScreenAsked, Arg: strconv.Itoa(q.N), To: lead})
	}
	for _, p := range k.People {
		slots = append(slots, flows.Slot{Screen: flows.ScreenReminder, Arg: "2027-03-02", To: p.ID})
	}
	return append(slots,
		flows.Slot{Screen: flows.ScreenDesk, To: lead},
		flows.Slot{Screen: flows.ScreenDesk, To: k.People[1].ID},
		flows.Slot{Screen: flows.ScreenQuorum, Arg: flows.StageArg(k.Stage, k.Window.Round), To: lead},
		flows.Slot{Screen: flows.ScreenQuorum, Arg: "brief", To: lead},
		flows.Slot{Screen: flows.ScreenJoin, Arg: "U99", To: lead},
		flows.Slot{Screen: flows.ScreenStanding, Arg: "9", To: k.People[1].ID},
		flows.Slot{Screen: flows.ScreenJoin, Arg: string(k.People[1].ID), To: lead},
	)
}

// eachMoment visits the moments of both plays in the order of their names.
func eachMoment(t *testing.T, visit func(t *testing.T, m moment)) {
	t.Helper()
	for play, moments := range map[string]map[string]moment{"small": smallPlay(), "hostile": hostilePlay()} {
		for _, name := range slices.Sorted(maps.Keys(moments)) {
			t.Run(play+"/"+name, func(t *testing.T) { visit(t, asked(moments[name])) })
		}
	}
}

// asked adds somebody who asks to take part.
func asked(m moment) moment {
	m.K.Asking = append(slices.Clone(m.K.Asking), state.JoinRequest{Person: state.Person{ID: "U99", Name: long("J", 80)}})
	return m
}

func TestEarlyMessagesKeepTheRules(t *testing.T) {
	eachMoment(t, func(t *testing.T, m moment) {
		for _, slot := range earlySlots(m.K) {
			posting, err := Message(m.K, slot, m.Now)
			if !assert.NoError(t, err, slot.Name()) {
				continue
			}
			checkMessage(t, slot.Name(), posting)
			checkPoint(t, slot.Name(), posting)
		}
	})
}

// checkPoint wants a line for the lock screen that is soon read.
func checkPoint(t *testing.T, name string, p screen.Posting) {
	t.Helper()
	n := len([]rune(PlainText(screen.Posting{Text: p.Text})))
	assert.LessOrEqual(t, n, 420, "%s: the lock screen shows %d characters, want 420 at most: %s", name, n, p.Text)
}

// viewers are the people for whom a form may differ.
func viewers(k state.Kickoff) []state.UserID {
	return []state.UserID{k.Leads[0], k.People[1].ID, k.People[2].ID, "U99"}
}

// pageFor is what a form opens with: about the first of everything.
func pageFor(m moment, viewer state.UserID) screen.Page {
	return screen.Page{Kickoff: m.K, Viewer: viewer, Now: m.Now,
		Args: screen.Args{Kickoff: m.K.ID, Stage: string(m.K.Stage), Round: m.K.Window.Round, Assumption: "A1", N: 1}}
}

// longestView is how many bytes of JSON a view may have.
const longestView = 250_000

// A form opens, or says kindly why it does not. That there is nothing of the
// kind is an error for us to see, and only before there is.
func TestFormsKeepTheRules(t *testing.T) {
	eachMoment(t, func(t *testing.T, m moment) {
		for _, name := range slices.Sorted(maps.Keys(forms())) {
			for _, viewer := range viewers(m.K) {
				view, err := Open(name, pageFor(m, viewer))
				var refused *flows.Refusal
				switch {
				case errors.As(err, &refused):
					checkSentence(t, name, refused.Reason)
				case err != nil && strings.Contains(err.Error(), "there is no"):
				case err != nil:
					t.Errorf("%s for %s: %v", name, viewer, err)
				default:
					checkView(t, fmt.Sprintf("%s for %s", name, viewer), view)
					checkSize(t, name, view, longestView)
				}
			}
		}
	})
}

func checkSize(t *testing.T, name string, view slack.ModalViewRequest, most int) {
	t.Helper()
	data, err := json.Marshal(view)
	require.NoError(t, err, name)
	assert.LessOrEqual(t, len(data), most, "%s has %d bytes, want at most", name, len(data))
}

// checkSentence wants what a person reads to be a sentence, without a word
// that only programmers use.
func checkSentence(t *testing.T, name, text string) {
	t.Helper()
	assert.False(t, text == "" || !strings.ContainsAny(text[len(text)-1:], ".?!"), "%s: %q is no sentence", name, text)
	for _, word := range []string{"nil", "invalid", "error", "null", "%!", "UserID"} {
		assert.NotContains(t, text, word, "%s: %q says", name, text)
	}
}

// Every button of every message leads to a form or an action that exists.
func TestButtonsLeadSomewhere(t *testing.T) {
	eachMoment(t, func(t *testing.T, m moment) {
		for _, slot := range append(earlySlots(m.K), laterSlots(m.K)...) {
			posting, err := Message(m.K, slot, m.Now)
			if err != nil {
				continue // reported elsewhere
			}
			for _, b := range buttonsIn(posting.Blocks) {
				checkButton(t, slot.Name(), m, b)
			}
		}
	})
}

func checkButton(t *testing.T, where string, m moment, b *slack.ButtonBlockElement) {
	t.Helper()
	args, err := screen.ParseArgs(b.Value)
	assert.NoError(t, err, "%s: button %q", where, b.Text.Text)
	assert.Equal(t, m.K.ID, args.Kickoff, "%s: button %q is about another kickoff", where, b.Text.Text)
	verb, name, _ := strings.Cut(b.ActionID, "/")
	switch verb {
	case "open":
		_, ok := forms()[name]
		assert.True(t, ok, "%s: button %q opens %q, which is no form", where, b.Text.Text, name)
	case "do":
		p := pageFor(m, m.K.Leads[0])
		p.Args = args
		intent, thanks, err := Do(name, p)
		assert.NoError(t, err, "%s: button %q does %q", where, b.Text.Text, name)
		assert.NotNil(t, intent, "%s: button %q does %q", where, b.Text.Text, name)
		checkSentence(t, where+" thanks", thanks)
	default:
		t.Errorf("%s: button %q has the action %q", where, b.Text.Text, b.ActionID)
	}
}

// buttonsIn finds the buttons in blocks.
func buttonsIn(blocks []slack.Block) []*slack.ButtonBlockElement {
	var all []*slack.ButtonBlockElement
	for _, b := range blocks {
		switch b := b.(type) {
		case *slack.ActionBlock:
			for _, e := range b.Elements.ElementSet {
				if b, ok := e.(*slack.ButtonBlockElement); ok {
					all = append(all, b)
				}
			}
		case *slack.SectionBlock:
			if b.Accessory != nil && b.Accessory.ButtonElement != nil {
				all = append(all, b.Accessory.ButtonElement)
			}
		}
	}
	return all
}

// labels are the texts of the buttons of a message.
func labels(p screen.Posting) []string {
	var all []string
	for _, b := range buttonsIn(p.Blocks) {
		all = append(all, b.Text.Text)
	}
	return all
}

// The moments are what their names say: a play that drifts would leave the
// tests above looking at something else.
func TestThePlayIsWhatItSays(t *testing.T) {
	for name, moments := range map[string]map[string]moment{"small": smallPlay(), "hostile": hostilePlay()} {
		for at, m := range moments {
			stage, _, _ := strings.Cut(at, "/")
			assert.Equal(t, stage, string(m.K.Stage), "%s play: at %q the stage is %s", name, at, m.K.Stage)
		}
	}
	got := momentAt(t, "rating/2").K.Window.Round
	assert.Equal(t, 2, got, "at rating/2 round %d is open, want 2", got)
	assert.True(t, momentAt(t, "brief/quorum").K.Window.Extended, "at brief/quorum no day was given")
	hostile := hostileKickoffAt(t, state.StageRating)
	n := len(hostile.Listed())
	assert.Equal(t, 100, n, "the hostile play lists %d assumptions, want 100", n)
	checkins := kickoffAt(t, state.StageUnderway).Underway.Checkins
	require.Len(t, checkins, 1, "check-ins underway")
	assert.Zero(t, checkins[0].Closed, "the check-in is not open")
}
