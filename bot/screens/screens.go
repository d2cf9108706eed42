// Package screens turns a kickoff into what people see: messages, forms,
// pictures and files. And it reads a filled-in form back into intents. It
// decides nothing and sends nothing.
//
// Start from three functions:
//
//	Message  the message of one slot, as the kickoff stands
//	Open     the form behind a button
//	Submit   what a filled-in form means: intents, a next page, or errors
//
// Home draws somebody's home tab, out of all their kickoffs.
//
// Do maps the buttons that need no form to their intent.
//
// What people see of a stage stands in one row of the table in stages.go: what
// it asks, its result, what its lead settles, its nudge, forms and
// buttons. What the row names stands in one file per stage.
//
// Whatever people typed is text. It goes into rich text elements and plain
// text objects, which parse nothing: no mention, no link, no formatting. Only
// words of our own may stand in an object that is parsed. The line that
// phones read aloud, a message's top-level text, is escaped instead.
package screens

import (
	"fmt"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/screens/closing"
	"soundings/bot/screens/planning"
	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/bot/screens/underway"
	"soundings/flows"
	"soundings/flows/state"
)

// A message draws the message of a slot; arg says which one of its kind.
type message func(p screen.Page, arg string) (screen.Posting, error)

// Message draws the message of a slot. k is drawn as it stands at now.
func Message(k state.Kickoff, slot flows.Slot, now time.Time) (screen.Posting, error) {
	draw, ok := table().messages[slot.Screen]
	if !ok {
		return screen.Posting{}, fmt.Errorf("draw %s: there is no such screen", slot.Name())
	}
	p := screen.Page{Kickoff: k, Viewer: slot.To, Now: now, Args: screen.Args{Kickoff: k.ID}}
	out, err := draw(p, slot.Arg)
	if err != nil {
		return screen.Posting{}, fmt.Errorf("draw %s: %w", slot.Name(), err)
	}
	return out, nil
}

// newMessages is the table of messages, by the screen that a slot names.
func newMessages() map[string]message {
	return map[string]message{
		flows.ScreenStage:       ofStage(stage.askMessage),
		flows.ScreenReopened:    reopenedMessage,
		flows.ScreenQuestion:    questionMessage,
		flows.ScreenAsked:       askedMessage,
		flows.ScreenResult:      ofStage(func(row stage, p screen.Page) (screen.Posting, error) { return row.result(p) }),
		flows.ScreenForesight:   planning.ForesightMessage,
		flows.ScreenRatings:     ofStage(func(_ stage, p screen.Page) (screen.Posting, error) { return rating.ListMessage(p) }),
		flows.ScreenSplit:       rating.SplitMessage,
		flows.ScreenReason:      rating.ReasonMessage,
		flows.ScreenGist:        gistMessage,
		flows.ScreenDesk:        deskMessage,
		flows.ScreenQuorum:      quorumMessage,
		flows.ScreenSettle:      ofStage(stage.settleMessage),
		flows.ScreenBack:        backMessage,
		flows.ScreenAlike:       alikeMessage,
		flows.ScreenReminder:    reminderMessage,
		flows.ScreenJoin:        joinMessage,
		flows.ScreenStanding:    standingMessage,
		flows.ScreenUnreachable: unreachableMessage,
		flows.ScreenSummary:     closing.SummaryMessage,
		flows.ScreenPart:        closing.PartMessage,
		flows.ScreenCheckin:     underway.CheckinMessage,
		flows.ScreenMoved:       underway.MovedMessage,
		flows.ScreenDigest:      underway.DigestMessage,
		flows.ScreenDecision:    underway.DecisionMessage,
		flows.ScreenOutcome:     underway.OutcomeMessage,
		flows.ScreenCalledOff:   calledOffMessage,
		flows.ScreenExtras:      closing.ExtrasMessage,
		flows.ScreenOutside:     outsideMessage,
		flows.ScreenLoss:        lossMessage,
	}
}

// Open draws the form of that name, as behind the button "open/<name>".
func Open(name string, p screen.Page) (slack.ModalViewRequest, error) {
	form, ok := forms()[name]
	if !ok {
		return slack.ModalViewRequest{}, fmt.Errorf("open form %s: there is no such form", name)
	}
	return form.Open(name, p)
}

// redrawn is the form of that name as the answer to a form.
func redrawn(name string, p screen.Page) *slack.ModalViewRequest {
	view := forms()[name].Draw(name, p)
	return &view
}

// More is the form of that name once more, empty, for somebody whose entries
// were taken and who may have more to add: they go on without opening it anew,
// which also saves a call. It is nil for a form of which nobody has more.
func More(name string, p screen.Page) *slack.ModalViewRequest {
	form, ok := forms()[name]
	if !ok || form.Again == "" {
		return nil
	}
	p.Args.Again++
	p.Args.Sure = false
	var f block.Form
	form.Fill(p, &f)
	f.Again(p.Args.Again, form.Again)
	view := screen.Seal(name, p, &f)
	return &view
}

// Submit reads the filled-in form of that name.
func Submit(name string, p screen.Page, v block.Values) (screen.Answer, error) {
	form, ok := forms()[name]
	if !ok {
		return screen.Answer{}, fmt.Errorf("read form %s: there is no such form", name)
	}
	if form.Submit != nil {
		answer, err := form.Submit(p, v)
		if err != nil {
			return screen.Answer{}, fmt.Errorf("read form %s: %w", name, err)
		}
		return answer, nil
	}
	f := block.Read(v)
	intent := form.Fill(p, f)
	switch {
	case len(f.Faults) > 0:
		return screen.Answer{Errors: f.Faults}, nil
	case intent == nil:
		return screen.Answer{}, nil
	}
	return screen.Answer{Intents: []flows.Intent{intent}, CloseAll: form.CloseAll}, nil
}

// Do says what the button "do/<name>" means, and the few words with which the
// person who pressed it is thanked, to them alone.
func Do(name string, p screen.Page) (intent flows.Intent, thanks string, err error) {
	act, ok := table().actions[name]
	if !ok {
		return nil, "", fmt.Errorf("press %s: there is no such button", name)
	}
	intent, thanks = act(p)
	return intent, thanks, nil
}
