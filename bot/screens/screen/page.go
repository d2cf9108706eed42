// Package screen is what every message and form is made from: the page that it
// is drawn from, the arguments that travel with its buttons, who may open it,
// and how the message of a stage, of what waits for a lead and of what somebody
// owes is laid out. It knows no stage but by name. Start with [Page], [Form] and
// [Asking].
package screen

import (
	"cmp"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/state"
)

// A Page is what a screen is drawn from: the kickoff as it stands, who will
// look at it, when, and which one of its kind it is.
type Page struct {
	Kickoff state.Kickoff
	Viewer  state.UserID // empty for a message that a whole channel reads
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
	Saw        string `json:"w,omitempty"`    // the mark of the text to which hints were shown
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

// MarkOf is a short mark of a text, by which a form knows again what it has shown hints
// to: a text that was changed since is looked at once more.
func MarkOf(text string) string {
	sum := fnv.New64a()
	sum.Write([]byte(strings.TrimSpace(text)))
	return strconv.FormatUint(sum.Sum64(), 36)
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

// Open draws the form under its name, or refuses whoever would fill it in for
// nothing.
func (form Form) Open(name string, p Page) (slack.ModalViewRequest, error) {
	if form.May != nil {
		if err := form.May(p); err != nil {
			return slack.ModalViewRequest{}, fmt.Errorf("open form %s: %w", name, err)
		}
	}
	return form.Draw(name, p), nil
}

// Draw is the form of that name as the person sees it when it opens.
func (form Form) Draw(name string, p Page) slack.ModalViewRequest {
	var f block.Form
	form.Fill(p, &f)
	return Seal(name, p, &f)
}

// PageAt is the page of Args.N, from 0, and what the button at its foot says;
// last is what that of the last page says.
func PageAt(p Page, pages int, last string) (at int, submit string) {
	at = min(max(p.Args.N, 0), pages-1)
	if at == pages-1 {
		return at, last
	}
	return at, "Next"
}

// Redrawn is the form of that name as the answer to a form.
func Redrawn(forms map[string]Form, name string, p Page) *slack.ModalViewRequest {
	view := forms[name].Draw(name, p)
	return &view
}

// About lets a form be about a kickoff that had no id yet when the form was drawn.
func About(view *slack.ModalViewRequest, kickoff string) {
	if args, err := ParseArgs(view.PrivateMetadata); err == nil {
		args.Kickoff = kickoff
		view.PrivateMetadata = args.String()
	}
}

// An Answer is what a filled-in form means.
type Answer struct {
	Intents  []flows.Intent          // to be decided in order; a refusal is shown at its field
	Next     *slack.ModalViewRequest // shown when the intents were taken; else the form closes
	CloseAll bool                    // the forms below it close too: what they show is not so any more
	Errors   map[string]string       // by block id; nothing else happens when there are any
}

// An Action turns a pressed button into its intent and a word of thanks.
type Action func(Page) (intent flows.Intent, thanks string)

// Seal puts the name and args of a form where the platform hands them back.
func Seal(name string, p Page, f *block.Form) slack.ModalViewRequest {
	view := f.View()
	view.CallbackID = name
	view.PrivateMetadata = p.Args.String()
	return view
}

// Nobody should fill in a form for nothing: a form that could not be taken is
// refused as it opens. The rules are those of flows, which checks again.

// MayAnswer refuses a form of a stage that does not take answers now, and
// anybody who does not take part.
func MayAnswer(p Page, s state.Stage) error {
	k := p.Kickoff
	if err := MayTakePart(p); err != nil {
		return err
	}
	if k.Stage == s && k.Window.Phase == state.PhaseOpen {
		return nil
	}
	if Before(k.Stage, s) {
		return Refuse("“%s” has not opened yet. You will see a message in the channel when it does.", flows.TitleOf(s))
	}
	return Refuse("“%s” has closed, so there is nothing to fill in. If it matters, ask %s to reopen it.", flows.TitleOf(s), words.LeadName(k))
}

// Before reports whether a stage comes before another.
func Before(s, other state.Stage) bool {
	return slices.Index(state.Stages(), s) < slices.Index(state.Stages(), other)
}

// MayTakePart refuses whoever is not part of the kickoff, and everybody once it
// has ended.
func MayTakePart(p Page) error {
	switch {
	case !p.Kickoff.Takes(p.Viewer):
		return Refuse("You are not part of this kickoff. Ask %s to add you.", words.LeadName(p.Kickoff))
	case p.Kickoff.Stage == state.StageEnded:
		return flows.Ended(&p.Kickoff, "nothing can be changed")
	}
	return nil
}

// MayLead refuses whoever does not lead.
func MayLead(p Page) error {
	if p.Kickoff.IsLead(p.Viewer) && p.Kickoff.Takes(p.Viewer) {
		return MayTakePart(p)
	}
	return Refuse("Only the lead can do that. The lead is %s.", words.LeadName(p.Kickoff))
}

// Answering lets in whoever may answer in a stage.
func Answering(s state.Stage) func(Page) error {
	return func(p Page) error { return MayAnswer(p, s) }
}

// Settles lets a lead in while a stage waits to be settled.
func Settles(s state.Stage) func(Page) error {
	return Both(MayLead, func(p Page) error {
		if p.Kickoff.Stage == s && p.Kickoff.Window.Phase == state.PhaseSettling {
			return nil
		}
		return Refuse("“%s” does not wait to be settled now.", flows.TitleOf(s))
	})
}

// Both lets in whom both checks let in.
func Both(first, second func(Page) error) func(Page) error {
	return func(p Page) error { return cmp.Or(first(p), second(p)) }
}

// Refuse is a refusal in words, formatted as by fmt.
func Refuse(format string, args ...any) error {
	return &flows.Refusal{Reason: fmt.Sprintf(format, args...)}
}

// StageArgs travel with a button of a stage's message.
func StageArgs(p Page, s state.Stage) Args {
	return Args{Kickoff: p.Kickoff.ID, Stage: string(s)}
}

// Button is a button that opens a form ("open/<name>") or does something at
// once ("do/<name>").
func Button(label, action string, args Args) *slack.ButtonBlockElement {
	return block.Button(label, action, args.String())
}

// A Control is something that a lead can do, with what it does, a sentence.
type Control struct {
	Button *slack.ButtonBlockElement
	Does   string
}

// Can is a control.
func Can(button *slack.ButtonBlockElement, does string) Control {
	return Control{Button: button, Does: does}
}

// AddButtons are for what people learn underway: a test, a belief, another plan.
func AddButtons(p Page) []*slack.ButtonBlockElement {
	return []*slack.ButtonBlockElement{
		Button("Add a Test", "open/backlog.test", StageArgs(p, state.StageBacklog)),
		Button("Add an Assumption", "open/assumptions.add", StageArgs(p, state.StageAssumptions)),
		Button("See the Tests", "open/backlog.list", StageArgs(p, state.StageBacklog)),
	}
}

// AskButton opens the form for a question about the brief; none after the end.
func AskButton(p Page) []*slack.ButtonBlockElement {
	if p.Kickoff.Stage == state.StageEnded {
		return nil
	}
	return []*slack.ButtonBlockElement{Button("Ask a Question", "open/brief.ask", StageArgs(p, state.StageBrief))}
}

// HereButton is a button about the present stage, and round.
func HereButton(p Page, name, action string) *slack.ButtonBlockElement {
	k := p.Kickoff
	return Button(name, action, Args{Kickoff: k.ID, Stage: string(k.Stage), Round: k.Window.Round})
}

// StillAt lets a button act only on the stage, or round, of which it spoke:
// pressed on an old message, it must not close what has opened since. flows
// then says that the stage has closed.
func StillAt(p Page, in flows.Intent) flows.Intent {
	if StillOf(p) {
		return in
	}
	return flows.Finish{By: By(p), Stage: state.Stage(p.Args.Stage), Round: p.Args.Round}
}

// StillOf reports whether a button or form speaks of the present stage, or
// round.
func StillOf(p Page) bool {
	return p.Args.Stage == string(p.Kickoff.Stage) && p.Args.Round == p.Kickoff.Window.Round
}

// By is the viewer as somebody who takes part; ByLead as somebody who leads.
func By(p Page) flows.By { return flows.By{Who: p.Viewer} }

// ByLead says that the lead who sees the page wants it.
func ByLead(p Page) flows.ByLead { return flows.ByLead{Who: p.Viewer} }

// Wants is the answer of a form that wants these things.
func Wants(intents ...flows.Intent) (Answer, error) { return Answer{Intents: intents}, nil }

// Faulty is the answer of a form with something amiss at one field.
func Faulty(field, reason string) (Answer, error) {
	return Answer{Errors: map[string]string{field: reason}}, nil
}

// Terms say where drafts would come from and what would be sent for them. The
// zero Terms are drafting switched off.
type Terms struct {
	Host    string
	Model   string
	Request string // to the letter
	Said    string // why no others came, where earlier drafts are shown again
}

// longestArgs is how many characters may travel with a form.
const longestArgs = 3000

// WithDrafts lets drafts travel with a form, the latest last. Of the earlier
// ones as many are kept as fit, the latest.
func (a Args) WithDrafts(drafts []string) Args {
	all := append(a.Offered(), drafts...)
	for {
		a.Drafts = strings.Join(all, "\n")
		if len(all) <= len(drafts) || utf8.RuneCountInString(a.String()) <= longestArgs {
			return a
		}
		all = all[1:]
	}
}

// Offered are the drafts that travel with a form, the latest last.
func (a Args) Offered() []string {
	if a.Drafts == "" {
		return nil
	}
	return strings.Split(a.Drafts, "\n")
}
