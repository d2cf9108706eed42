package bot

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/journal"
	"soundings/bot/plaintext"
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
	id, err := b.Journal.Index.InChannel(ctx, in.Team.ID, in.Channel.ID)
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
	return b.Chat.OpenView(ctx, in.TriggerID, screens.Prefilled(view, "text", plaintext.Unescape(in.Message.Text)))
}

func isRefusal(err error) bool {
	var refusal *flows.Refusal
	return errors.As(err, &refusal)
}
