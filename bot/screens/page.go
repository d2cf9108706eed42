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
// What people see of a stage stands in one row of the table in stages.go: its
// title, what it asks, its result, what its lead settles, its nudge, forms and
// buttons. What the row names stands in one file per stage.
//
// Whatever people typed is text. It goes into rich text elements and plain
// text objects, which parse nothing: no mention, no link, no formatting. Only
// words of our own may stand in an object that is parsed. The line that
// phones read aloud, a message's top-level text, is escaped instead.
package screens

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
)

// A Page is what a screen is drawn from: the kickoff as it stands, who will
// look at it, when, and which one of its kind it is.
type Page struct {
	Kickoff flows.Kickoff
	Viewer  flows.UserID // empty for a message that a whole channel reads
	Now     time.Time
	Args    Args

	Typed    string // stands in the form of an assumption as it opens
	Drafting Terms  // of the forms about drafts

	// SentBefore reports whether this very form was taken before, and only its
	// answer lost; nil is no.
	SentBefore func() bool
}

// Args travel with a button or a form and say what it is about. They are
// read back from the platform as they were sent, and trusted for nothing:
// flows checks every intent.
type Args struct {
	Kickoff    string `json:"k,omitempty"`
	Stage      string `json:"s,omitempty"`
	Round      int    `json:"r,omitempty"`
	Assumption string `json:"a,omitempty"`
	N          int    `json:"n,omitempty"`    // a question, wording, test, action, page, or number of weeks
	Choice     string `json:"c,omitempty"`    // of a button that offers several
	Sure       bool   `json:"sure,omitempty"` // asked once already: take it as it is
	Home       bool   `json:"h,omitempty"`    // pressed on the home tab, which is then drawn anew

	Again int `json:"g,omitempty"` // how many times the form was taken and shown empty again

	Drafts string `json:"d,omitempty"` // shown in the form, a line each, after those that were shown before

	Source *Source `json:"src,omitempty"` // of a form: the message in which its button stands
}

// A Source is a message in which somebody pressed a button. For a while the
// platform takes a new version of it at an address that came with the press:
// that needs no Web API call, so the message can be kept current while people
// answer.
type Source struct {
	Channel string `json:"c"`
	TS      string `json:"t"`
	URL     string `json:"u"` // a key to the message: never logged
	Until   int64  `json:"x"` // in Unix seconds
}

// String is the form in which args travel.
func (a Args) String() string {
	data, err := json.Marshal(a)
	if err != nil {
		panic(fmt.Sprintf("screens: args do not encode: %v", err)) // strings and numbers always do
	}
	return string(data)
}

// ParseArgs reads what String wrote.
func ParseArgs(s string) (Args, error) {
	var a Args
	if err := json.Unmarshal([]byte(s), &a); err != nil {
		return Args{}, fmt.Errorf("read what the button is about: %w", err)
	}
	return a, nil
}

// A Posting is a message ready to send. Text carries point and action on its
// own: it is what a lock screen shows and a screen reader reads.
type Posting struct {
	Text   string
	Blocks []slack.Block
}

// A Form is one modal: how it opens, and what its entries mean.
type Form struct {
	May      func(Page) error                         // refuses whoever would fill it in for nothing; nil where nothing is refused
	Fill     func(Page, *block.Form) flows.Intent     // draws it, or reads it back; nil of a form that only shows something
	Submit   func(Page, block.Values) (Answer, error) // what it means, where that is more than the intent of Fill; mostly nil
	CloseAll bool                                     // once it is taken the forms below it close too: what they show is not so any more
	Again    string                                   // said above it when it is shown again, see the function More; empty where nobody has more
}

// An Answer is what a filled-in form means.
type Answer struct {
	Intents  []flows.Intent          // to be decided in order; a refusal is shown at its field
	Next     *slack.ModalViewRequest // shown when the intents were taken; else the form closes
	CloseAll bool                    // the forms below it close too: what they show is not so any more
	Errors   map[string]string       // by block id; nothing else happens when there are any
}

// A message draws the message of a slot; arg says which one of its kind.
type message func(p Page, arg string) (Posting, error)

// An action turns a pressed button into its intent and a word of thanks.
type action func(Page) (intent flows.Intent, thanks string)

// Message draws the message of a slot. k is drawn as it stands at now.
func Message(k flows.Kickoff, slot flows.Slot, now time.Time) (Posting, error) {
	draw, ok := table().messages[slot.Screen]
	if !ok {
		return Posting{}, fmt.Errorf("draw %s: there is no such screen", slot.Name())
	}
	p := Page{Kickoff: k, Viewer: slot.To, Now: now, Args: Args{Kickoff: k.ID}}
	out, err := draw(p, slot.Arg)
	if err != nil {
		return Posting{}, fmt.Errorf("draw %s: %w", slot.Name(), err)
	}
	return out, nil
}

// newMessages is the table of messages, by the screen that a slot names.
func newMessages() map[string]message {
	return map[string]message{
		flows.ScreenStage:       ofStage(stage.askMessage),
		flows.ScreenQuestion:    questionMessage,
		flows.ScreenResult:      ofStage(func(row stage, p Page) (Posting, error) { return row.result(p) }),
		flows.ScreenSplit:       splitMessage,
		flows.ScreenReason:      reasonMessage,
		flows.ScreenGist:        gistMessage,
		flows.ScreenDesk:        deskMessage,
		flows.ScreenQuorum:      quorumMessage,
		flows.ScreenSettle:      ofStage(stage.settleMessage),
		flows.ScreenReminder:    reminderMessage,
		flows.ScreenJoin:        joinMessage,
		flows.ScreenUnreachable: unreachableMessage,
		flows.ScreenSummary:     summaryMessage,
		flows.ScreenPart:        partMessage,
		flows.ScreenCheckin:     checkinMessage,
		flows.ScreenMoved:       movedMessage,
		flows.ScreenDigest:      digestMessage,
		flows.ScreenDecision:    decisionMessage,
		flows.ScreenOutcome:     outcomeMessage,
		flows.ScreenExtras:      extrasMessage,
		flows.ScreenOutside:     outsideMessage,
		flows.ScreenLoss:        lossMessage,
	}
}

// Open draws the form of that name, as behind the button "open/<name>".
func Open(name string, p Page) (slack.ModalViewRequest, error) {
	form, ok := forms()[name]
	if !ok {
		return slack.ModalViewRequest{}, fmt.Errorf("open form %s: there is no such form", name)
	}
	if form.May != nil {
		if err := form.May(p); err != nil {
			return slack.ModalViewRequest{}, fmt.Errorf("open form %s: %w", name, err)
		}
	}
	return form.draw(name, p), nil
}

func (form Form) draw(name string, p Page) slack.ModalViewRequest {
	var f block.Form
	form.Fill(p, &f)
	return seal(name, p, &f)
}

// redrawn is the form of that name as the answer to a form.
func redrawn(name string, p Page) *slack.ModalViewRequest {
	view := forms()[name].draw(name, p)
	return &view
}

// More is the form of that name once more, empty, for somebody whose entries
// were taken and who may have more to add: they go on without opening it anew,
// which also saves a call. It is nil for a form of which nobody has more.
func More(name string, p Page) *slack.ModalViewRequest {
	form, ok := forms()[name]
	if !ok || form.Again == "" {
		return nil
	}
	p.Args.Again++
	p.Args.Sure = false
	var f block.Form
	form.Fill(p, &f)
	f.Again(p.Args.Again, form.Again)
	view := seal(name, p, &f)
	return &view
}

// Submit reads the filled-in form of that name.
func Submit(name string, p Page, v block.Values) (Answer, error) {
	form, ok := forms()[name]
	if !ok {
		return Answer{}, fmt.Errorf("read form %s: there is no such form", name)
	}
	if form.Submit != nil {
		answer, err := form.Submit(p, v)
		if err != nil {
			return Answer{}, fmt.Errorf("read form %s: %w", name, err)
		}
		return answer, nil
	}
	f := block.Read(v)
	intent := form.Fill(p, f)
	switch {
	case len(f.Faults) > 0:
		return Answer{Errors: f.Faults}, nil
	case intent == nil:
		return Answer{}, nil
	}
	return Answer{Intents: []flows.Intent{intent}, CloseAll: form.CloseAll}, nil
}

// seal puts the name and args of a form where the platform hands them back.
func seal(name string, p Page, f *block.Form) slack.ModalViewRequest {
	view := f.View()
	view.CallbackID = name
	view.PrivateMetadata = p.Args.String()
	return view
}

// Do says what the button "do/<name>" means, and the few words with which the
// person who pressed it is thanked, to them alone.
func Do(name string, p Page) (intent flows.Intent, thanks string, err error) {
	act, ok := table().actions[name]
	if !ok {
		return nil, "", fmt.Errorf("press %s: there is no such button", name)
	}
	intent, thanks = act(p)
	return intent, thanks, nil
}

// Nobody should fill in a form for nothing: a form that could not be taken is
// refused as it opens. The rules are those of flows, which checks again.

// mayAnswer refuses a form of a stage that does not take answers now, and
// anybody who does not take part.
func mayAnswer(p Page, s flows.Stage) error {
	k := p.Kickoff
	if err := mayTakePart(p); err != nil {
		return err
	}
	if k.Stage == s && k.Window.Phase == flows.PhaseOpen {
		return nil
	}
	if before(k.Stage, s) {
		return refusal("“%s” has not opened yet. You will see a message in the channel when it does.", stageName(s))
	}
	return refusal("“%s” has closed, so there is nothing to fill in. If it matters, ask %s to reopen it.", stageName(s), words.LeadName(k))
}

// before reports whether a stage comes before another.
func before(s, other flows.Stage) bool {
	return slices.Index(flows.Stages(), s) < slices.Index(flows.Stages(), other)
}

// mayTakePart refuses whoever is not part of the kickoff, and everybody once it
// has ended.
func mayTakePart(p Page) error {
	switch {
	case !p.Kickoff.Takes(p.Viewer):
		return refusal("You are not part of this kickoff. Ask %s to add you.", words.LeadName(p.Kickoff))
	case p.Kickoff.Stage == flows.StageEnded:
		return refusal("This kickoff has ended, so nothing can be changed. Its summary stays in the channel.")
	}
	return nil
}

// mayLead refuses whoever does not lead.
func mayLead(p Page) error {
	if p.Kickoff.IsLead(p.Viewer) && p.Kickoff.Takes(p.Viewer) {
		return mayTakePart(p)
	}
	return refusal("Only the lead can do that. The lead is %s.", words.LeadName(p.Kickoff))
}

// answering, settles and both make what a form demands of whoever opens it.
func answering(s flows.Stage) func(Page) error {
	return func(p Page) error { return mayAnswer(p, s) }
}

func settles(s flows.Stage) func(Page) error {
	return both(mayLead, func(p Page) error {
		if p.Kickoff.Stage == s && p.Kickoff.Window.Phase == flows.PhaseSettling {
			return nil
		}
		return refusal("“%s” does not wait to be settled now.", stageName(s))
	})
}

func both(first, second func(Page) error) func(Page) error {
	return func(p Page) error { return cmp.Or(first(p), second(p)) }
}

func refusal(format string, args ...any) error {
	return &flows.Refusal{Reason: fmt.Sprintf(format, args...)}
}

// stageArgs travel with a button of a stage's message.
func stageArgs(p Page, s flows.Stage) Args {
	return Args{Kickoff: p.Kickoff.ID, Stage: string(s)}
}

// button is a button that opens a form ("open/<name>") or does something at
// once ("do/<name>").
func button(label, action string, args Args) *slack.ButtonBlockElement {
	return block.Button(label, action, args.String())
}

// hereButton is a button about the present stage, and round.
func hereButton(p Page, name, action string) *slack.ButtonBlockElement {
	k := p.Kickoff
	return button(name, action, Args{Kickoff: k.ID, Stage: string(k.Stage), Round: k.Window.Round})
}

// stillAt lets a button act only on the stage, or round, of which it spoke:
// pressed on an old message, it must not close what has opened since. flows
// then says that the stage has closed.
func stillAt(p Page, in flows.Intent) flows.Intent {
	if stillOf(p) {
		return in
	}
	return flows.Finish{By: by(p), Stage: flows.Stage(p.Args.Stage), Round: p.Args.Round}
}

// stillOf reports whether a button or form speaks of the present stage, or
// round.
func stillOf(p Page) bool {
	return p.Args.Stage == string(p.Kickoff.Stage) && p.Args.Round == p.Kickoff.Window.Round
}

// by is the viewer as somebody who takes part; byLead as somebody who leads.
func by(p Page) flows.By { return flows.By{Who: p.Viewer} }

func byLead(p Page) flows.ByLead { return flows.ByLead{Who: p.Viewer} }

// wants is the answer of a form that wants these things.
func wants(intents ...flows.Intent) (Answer, error) { return Answer{Intents: intents}, nil }

// faulty is the answer of a form with something amiss at one field.
func faulty(field, reason string) (Answer, error) {
	return Answer{Errors: map[string]string{field: reason}}, nil
}
