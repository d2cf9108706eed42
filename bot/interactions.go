package bot

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"strings"
	"time"

	"github.com/slack-go/slack"
	"golang.org/x/sync/errgroup"

	"soundings/bot/journal"
	"soundings/bot/screens"
	"soundings/flows"
)

// errUnreadable marks what the platform sent but we cannot make sense of.
var errUnreadable = errors.New("the payload makes no sense here")

// Interact handles a pressed button, a choice, a form. Its answer, if any,
// goes back in the acknowledgement.
func (b *Bot) Interact(ctx context.Context, in Interaction) (answer any, err error) {
	began := time.Now()
	defer func() { b.Metrics.request(string(in.Type), began, time.Now(), err) }()
	if b, err = b.at(ctx, in.Team.ID); err != nil {
		return b.notHere(ctx, in, err)
	}
	switch in.Type {
	case slack.InteractionTypeBlockActions:
		return nil, b.pressed(ctx, in)
	case slack.InteractionTypeViewSubmission:
		return b.submitted(ctx, in)
	case slack.InteractionTypeShortcut, slack.InteractionTypeMessageAction:
		return nil, b.shortcut(ctx, in)
	case slack.InteractionTypeViewClosed:
		return nil, nil
	}
	return nil, fmt.Errorf("%w: interaction type %q", errUnreadable, in.Type)
}

// A visit is one request of one person about one kickoff.
type visit struct {
	key      journal.Key
	page     screens.Page
	trigger  string
	respond  string          // where to answer a button, if anywhere
	surface  slack.ViewType  // where the button stands; empty for a message
	source   *screens.Source // the message behind it all, if there is one
	delivery string
}

// visit reads who wants something, and about which kickoff.
func (b *Bot) visit(ctx context.Context, in Interaction, args string) (visit, error) {
	a, err := screens.ParseArgs(args)
	if err != nil {
		return visit{}, fmt.Errorf("%w: %w", errUnreadable, err)
	}
	v := visit{key: journal.Key{Team: in.Team.ID, Kickoff: a.Kickoff}, trigger: in.TriggerID, respond: in.ResponseURL,
		surface: in.View.Type, delivery: "click/" + in.TriggerID}
	v.page = screens.Page{Viewer: flows.UserID(in.User.ID), Now: b.Clock(), Args: a, Drafting: b.terms()}
	v.source = b.source(in)
	if a.Kickoff == "" {
		return v, nil // the form that begins one
	}
	v.page.Kickoff, err = b.load(ctx, v.key)
	if err == nil && v.page.Kickoff.Started.IsZero() { // of another team, or purged
		err = &flows.Refusal{Reason: "That kickoff is not in this workplace, so nothing was changed."}
	}
	return v, err
}

// sourceTime is how long the address of a press is used: the platform takes
// answers there for half an hour.
const sourceTime = 25 * time.Minute

// source is the message in which a button was pressed, or which a form was
// opened from. What one person alone sees is none: nobody keeps it current.
func (b *Bot) source(in Interaction) *screens.Source {
	if at := in.Container; at.TS != "" && !at.Ephemeral && in.ResponseURL != "" {
		return &screens.Source{Channel: at.Channel, TS: at.TS, URL: in.ResponseURL, Until: b.Clock().Add(sourceTime).Unix()}
	}
	if a, err := screens.ParseArgs(in.View.PrivateMetadata); err == nil {
		return a.Source
	}
	return nil
}

// pressed handles buttons and the choices on a ballot.
func (b *Bot) pressed(ctx context.Context, in Interaction) error {
	for _, action := range in.Actions {
		var err error
		if action.Value == "" { // of a list to choose from, the choice says what it is about
			action.Value = action.SelectedOption.Value
		}
		switch verb, name, _ := strings.Cut(action.ActionID, "/"); verb {
		case "open":
			err = b.openForm(ctx, in, name, action.Value)
		case "do":
			err = b.doDeed(ctx, in, name, action.Value)
		case "rate":
			err = b.choose(ctx, in, action)
		case "draft":
			err = b.pressedDrafting(ctx, in, name, action.Value)
		case screens.InputAction:
			// An input that reports itself: its value comes with the form.
		default:
			err = fmt.Errorf("%w: action %q", errUnreadable, action.ActionID)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// openForm opens the form behind a button, on top of one that is open.
func (b *Bot) openForm(ctx context.Context, in Interaction, name, args string) error {
	v, err := b.visit(ctx, in, args)
	if err != nil {
		return b.told(ctx, v, err)
	}
	if name == "brief.start" {
		if err := b.channelFree(ctx, v.key.Team, v.page.Args.Choice); err != nil {
			return b.told(ctx, v, err)
		}
	}
	v.page.Args.Source = v.source
	view, err := screens.Open(name, v.page)
	if err != nil {
		return b.told(ctx, v, err)
	}
	return b.present(ctx, v, view)
}

// present opens a form: on top of the form in which a button was pressed, or
// by itself.
func (b *Bot) present(ctx context.Context, v visit, view slack.ModalViewRequest) error {
	if v.surface == slack.VTModal {
		return b.Chat.PushView(ctx, v.trigger, view)
	}
	return b.Chat.OpenView(ctx, v.trigger, view)
}

// doDeed does what a button means, and thanks the one who pressed it.
func (b *Bot) doDeed(ctx context.Context, in Interaction, name, args string) error {
	v, err := b.visit(ctx, in, args)
	if err != nil {
		return b.told(ctx, v, err)
	}
	intent, thanks, err := screens.Do(name, v.page)
	if err != nil {
		return fmt.Errorf("%w: %w", errUnreadable, err)
	}
	if intent, err = b.complete(ctx, v, intent); err == nil {
		err = b.doFrom(ctx, v.key, intent, v.delivery, v.source)
	}
	if err != nil {
		return b.told(ctx, v, err)
	}
	return b.whisper(ctx, v, thanks)
}

// choose saves one choice on a ballot.
func (b *Bot) choose(ctx context.Context, in Interaction, action slack.BlockAction) error {
	v, err := b.visit(ctx, in, in.View.PrivateMetadata)
	if err == nil {
		intent, ok := screens.Choice(v.page, action.ActionID, action.SelectedOption.Value)
		if !ok {
			return fmt.Errorf("%w: choice %q", errUnreadable, action.ActionID)
		}
		err = b.doFrom(ctx, v.key, intent, v.delivery, v.source)
	}
	var refusal *flows.Refusal
	if errors.As(err, &refusal) {
		return b.Chat.UpdateView(ctx, in.View.ID, "", screens.Notice("Not saved", refusal.Reason))
	}
	return err
}

// told tells a person why nothing was done, and keeps every other error.
func (b *Bot) told(ctx context.Context, v visit, err error) error {
	var refusal *flows.Refusal
	if !errors.As(err, &refusal) {
		return err
	}
	if refusal.Ask != "" {
		view, err := screens.Ask("", v.page, nil)
		if err == nil {
			return b.present(ctx, v, view)
		}
		if !errors.As(err, &refusal) {
			return err
		}
	}
	if v.surface == "" {
		return b.whisper(ctx, v, refusal.Reason)
	}
	// A form and the home tab have no address to answer to. What was wrong
	// has to be seen, wherever somebody has scrolled to: it opens by itself.
	if err := b.present(ctx, v, screens.Notice("Nothing was changed", refusal.Reason)); err != nil {
		return err
	}
	return b.redrawHome(ctx, v, "")
}

// whisper answers a button to the one who pressed it. A button in a form has
// no address to answer to; there the form itself shows what changed. The home
// tab says it at its top, and shows what changed.
func (b *Bot) whisper(ctx context.Context, v visit, text string) error {
	if v.surface == slack.VTHomeTab {
		return b.redrawHome(ctx, v, text)
	}
	if v.respond == "" || text == "" {
		return nil
	}
	if err := b.Chat.Whisper(ctx, v.respond, screens.Escape(text)); err != nil {
		b.Logger.Warn("a word to one person was not delivered", "error", err)
	}
	return nil
}

// submitted handles a filled-in form: field errors, the next page, or
// nothing, which closes it.
func (b *Bot) submitted(ctx context.Context, in Interaction) (any, error) {
	var answer screens.Answer
	v, err := b.visit(ctx, in, in.View.PrivateMetadata)
	if err == nil {
		answer, err = screens.Submit(in.View.CallbackID, v.page, values(in))
	}
	var refusal *flows.Refusal
	switch {
	case b.sentAgain(ctx, v, answer, err):
		return after(in, v, answer), b.redrawHome(ctx, v, "")
	case errors.As(err, &refusal):
		return b.refused(in, v, refusal)
	case err != nil:
		return nil, err
	case len(answer.Errors) > 0:
		return fieldErrors(in.View.Blocks, answer.Errors), nil
	}
	for _, intent := range answer.Intents {
		delivery := part(v.delivery, intent)
		intent, err := b.complete(ctx, v, intent)
		if err == nil {
			err = b.doFrom(ctx, keyFor(v.key, intent), intent, delivery, v.source)
		}
		if err == nil {
			err = b.orderDrafts(ctx, v, in.View.ID, intent)
		}
		if errors.As(err, &refusal) {
			return b.refused(in, v, refusal)
		}
		if err != nil {
			return nil, err
		}
	}
	if answer.Next != nil && len(answer.Intents) == 0 {
		return slack.NewUpdateViewSubmissionResponse(answer.Next), nil // nothing has changed
	}
	return after(in, v, answer), b.redrawHome(ctx, v, "")
}

// after is what a form shows once it was taken; nil closes it.
func after(in Interaction, v visit, answer screens.Answer) any {
	switch more := screens.More(in.View.CallbackID, v.page); {
	case more != nil:
		return slack.NewUpdateViewSubmissionResponse(more)
	case answer.Next != nil && len(answer.Intents) > 0:
		return slack.NewUpdateViewSubmissionResponse(answer.Next)
	case answer.CloseAll:
		return slack.NewClearViewSubmissionResponse()
	}
	return nil
}

// sentAgain reports whether a form that is not taken was taken a moment ago:
// its acknowledgement was lost, and by now what it brought stands in its way.
func (b *Bot) sentAgain(ctx context.Context, v visit, answer screens.Answer, err error) bool {
	taken := err == nil && len(answer.Errors) == 0 && (len(answer.Intents) > 0 || answer.Next == nil)
	return !taken && (err == nil || isRefusal(err)) && b.wrote(ctx, v.key, v.page.Kickoff.Version, v.delivery)
}

// part names one intent of a form's delivery. Its place in the form would not
// do: what a form that comes again still wants depends on what was taken of it.
func part(delivery string, in flows.Intent) string {
	sum := fnv.New64a()
	fmt.Fprintf(sum, "%T%+v", in, in)
	return fmt.Sprintf("%s/%x", delivery, sum.Sum64())
}

// keyFor is the kickoff that an intent is about: the one that it begins, or
// the one of the form.
func keyFor(key journal.Key, in flows.Intent) journal.Key {
	if start, ok := in.(flows.Start); ok {
		key.Kickoff = start.ID
	}
	return key
}

// refused shows a refusal at its field, or where no field is meant, in the
// form's place: with the question, where it is one that its reader may say yes
// to.
func (b *Bot) refused(in Interaction, v visit, r *flows.Refusal) (any, error) {
	if r.Ask != "" {
		view, err := screens.Ask(in.View.CallbackID, v.page, values(in))
		if err == nil {
			return slack.NewUpdateViewSubmissionResponse(&view), nil
		}
		if !errors.As(err, &r) {
			return nil, err
		}
	}
	return refused(in, r), nil
}

func refused(in Interaction, r *flows.Refusal) any {
	if field := fieldFor(in.View.Blocks, r.Field); field != "" {
		return slack.NewErrorsViewSubmissionResponse(map[string]string{field: r.Reason})
	}
	notice := screens.Notice("Nothing was changed", r.Reason)
	return slack.NewUpdateViewSubmissionResponse(&notice)
}

// fieldFor finds the input that a refusal is about: the one of that name, or
// the first of those whose names begin with it, as "ticks/0" does.
func fieldFor(blocks []BlockHead, field string) string {
	if field == "" {
		return ""
	}
	for _, block := range blocks {
		name := screens.FieldOf(block.ID)
		if block.Type == slack.MBTInput && (name == field || strings.HasPrefix(name, field+"/")) {
			return block.ID
		}
	}
	return ""
}

// fieldErrors shows what is amiss at each field.
func fieldErrors(blocks []BlockHead, errs map[string]string) any {
	at := make(map[string]string, len(errs))
	for field, reason := range errs {
		if block := fieldFor(blocks, field); block != "" {
			field = block
		}
		at[field] = reason
	}
	return slack.NewErrorsViewSubmissionResponse(at)
}

func values(in Interaction) screens.Values {
	return screens.Values(in.View.State.Values).ByField()
}

// complete fills in what only the platform knows: names and time zones. It
// also keeps the channel for a kickoff that begins.
func (b *Bot) complete(ctx context.Context, v visit, in flows.Intent) (flows.Intent, error) {
	switch i := in.(type) {
	case flows.Start:
		return b.completeStart(ctx, v, i)
	case flows.Invite:
		people, err := b.people(ctx, i.People)
		i.People = people
		return i, err
	case flows.AskToJoin:
		people, err := b.people(ctx, []flows.Person{i.Person})
		if err == nil && len(people) == 0 {
			err = &flows.Refusal{Reason: "I cannot see your profile here, so I cannot ask for you. Please ask the lead yourself."}
		}
		if err == nil {
			i.Person = people[0]
		}
		return i, err
	}
	return in, nil
}

// completeStart looks the people up and claims the channel. The claim comes
// last: it is the one thing that must not be left behind.
func (b *Bot) completeStart(ctx context.Context, v visit, start flows.Start) (flows.Start, error) {
	team, field := v.key.Team, "title" // what was typed stays where a field says what is wrong
	if v.page.Args.Choice == "" {
		field = "channel"
	}
	start.Team = team
	if start.ID == "" {
		start.ID = fmt.Sprintf("%s-%d", start.Channel, b.Clock().Unix())
	}
	seen, err := b.Chat.Look(ctx, start.Channel)
	if err != nil {
		return start, err
	}
	start.Seen = flows.Seen{Outside: seen.Outside, Canvas: seen.Canvas}
	if !seen.Member {
		return start, &flows.Refusal{Field: field, Reason: "I am not in that channel yet. Add me there with /invite, then press Start again."}
	}
	if _, err := flows.Decide(flows.Kickoff{}, start, b.Clock()); err != nil {
		return start, err // before a dozen people are looked up
	}
	if start.People, err = b.people(ctx, start.People); err != nil {
		return start, err
	}
	if _, err := flows.Decide(flows.Kickoff{}, start, b.Clock()); err != nil {
		return start, err
	}
	holder, err := b.Journal.Claim(ctx, team, start.Channel, start.ID)
	if err != nil {
		return start, err
	}
	if holder != start.ID {
		return start, &flows.Refusal{Field: field, Reason: "A kickoff is open in this channel already. End that one first, or start in another channel."}
	}
	return start, nil
}

// people asks the platform who everybody is, several at once, since a form
// waits for it. Apps and people who have left are passed over: they would
// never answer.
func (b *Bot) people(ctx context.Context, wanted []flows.Person) ([]flows.Person, error) {
	ctx, cancel := context.WithTimeout(ctx, lookupTime)
	defer cancel()
	found := make([]*flows.Person, len(wanted))
	lookups, ctx := errgroup.WithContext(ctx)
	lookups.SetLimit(b.Lookups)
	for i, p := range wanted {
		lookups.Go(func() error {
			person, other, err := b.lookUp(ctx, p.ID)
			if errors.Is(err, ErrClosedDoor) || err == nil && other {
				return nil
			}
			found[i] = &person
			return err
		})
	}
	if err := lookups.Wait(); err != nil {
		return nil, fmt.Errorf("look up who takes part: %w", err)
	}
	var out []flows.Person
	for _, p := range found {
		if p != nil {
			out = append(out, *p)
		}
	}
	return out, nil
}

// lookUp asks once more when a call was lost: a form that somebody filled in
// should not come to nothing over one of a dozen calls.
func (b *Bot) lookUp(ctx context.Context, u flows.UserID) (p flows.Person, other bool, err error) {
	for range 3 {
		p, other, err = b.Chat.Person(ctx, u)
		if err == nil || !lost(err) || ctx.Err() != nil {
			break
		}
	}
	return p, other, err
}

// lookupTime is what the platform's three seconds leave for looking people up.
const lookupTime = 2500 * time.Millisecond

// shortcut opens the form behind a shortcut.
func (b *Bot) shortcut(ctx context.Context, in Interaction) error {
	switch in.CallbackID {
	case shortcutLog:
		return b.logAssumption(ctx, in)
	case shortcutStart: // it belongs to no channel, so the form asks for one
		return b.openForm(ctx, in, "brief.start", screens.Args{}.String())
	}
	return fmt.Errorf("%w: shortcut %q", errUnreadable, in.CallbackID)
}

// logAssumption opens the form for an assumption with a message's words.
func (b *Bot) logAssumption(ctx context.Context, in Interaction) error {
	id, err := b.Journal.InChannel(ctx, in.Team.ID, in.Channel.ID)
	if err != nil {
		return err
	}
	if id == "" {
		return b.Chat.Whisper(ctx, in.ResponseURL, "No kickoff is open in this channel, so there is nowhere to log this.")
	}
	v, err := b.visit(ctx, in, screens.Args{Kickoff: id}.String())
	if err != nil {
		return err
	}
	view, err := screens.Open("assumptions.add", v.page)
	if err != nil {
		return b.told(ctx, v, err)
	}
	return b.Chat.OpenView(ctx, in.TriggerID, screens.Prefilled(view, "text", screens.Unescape(in.Message.Text)))
}

func isRefusal(err error) bool {
	var refusal *flows.Refusal
	return errors.As(err, &refusal)
}
