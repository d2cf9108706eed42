package incoming

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/drafts"
	"soundings/bot/journal"
	"soundings/bot/manifest"
	"soundings/bot/plaintext"
	"soundings/bot/screens"
	"soundings/bot/teams"
	"soundings/flows"
)

// An Interaction is what we read of a pressed button, a choice, a form or a
// shortcut. The platform sends the whole message or form along; decoding all
// of it for each tap on a ballot would be most of the work, and a block that
// the client library cannot read would cost somebody their answer.
type Interaction struct {
	Type        slack.InteractionType `json:"type"`
	CallbackID  string                `json:"callback_id"` // of a shortcut
	TriggerID   string                `json:"trigger_id"`
	ResponseURL string                `json:"response_url"`
	Team        struct {
		ID string `json:"id"`
	} `json:"team"`
	User struct {
		ID string `json:"id"`
	} `json:"user"`
	Channel struct {
		ID string `json:"id"`
	} `json:"channel"`
	Message struct {
		Text string `json:"text"`
	} `json:"message"`
	Container struct {
		Channel   string `json:"channel_id"`
		TS        string `json:"message_ts"`
		Ephemeral bool   `json:"is_ephemeral"`
	} `json:"container"`
	View    FormView            `json:"view"`
	Actions []slack.BlockAction `json:"actions"`
}

// A FormView is the form or home tab in which something was pressed or sent.
type FormView struct {
	ID              string         `json:"id"`
	Type            slack.ViewType `json:"type"`
	CallbackID      string         `json:"callback_id"`
	PrivateMetadata string         `json:"private_metadata"`
	Blocks          []BlockHead    `json:"blocks"`
	State           struct {
		Values map[string]map[string]slack.BlockAction `json:"values"`
	} `json:"state"`
}

// A BlockHead tells a block's kind and name.
type BlockHead struct {
	Type slack.MessageBlockType `json:"type"`
	ID   string                 `json:"block_id"`
}

// An interaction is a pressed button, a choice, a form or a shortcut in a team.
type interaction struct {
	*team
	Interaction
}

// Interact handles a pressed button, a choice, a form. Its answer, if any,
// goes back in the acknowledgement.
func (v *Receiver) Interact(ctx context.Context, payload Interaction) (answer any, err error) {
	began := time.Now()
	defer func() { v.count(string(payload.Type), began, err) }()
	t, err := v.forTeam(ctx, payload.Team.ID)
	if errors.Is(err, teams.ErrUninstalled) {
		v.Logger.Info("somebody uses the app in a team that has taken it away", "team", payload.Team.ID, "reason", err)
		return v.uninstalled(ctx, payload), nil
	}
	if err != nil {
		return nil, err
	}
	in := interaction{t, payload}
	switch in.Type {
	case slack.InteractionTypeBlockActions:
		return nil, in.pressed(ctx)
	case slack.InteractionTypeViewSubmission:
		return in.submitted(ctx)
	case slack.InteractionTypeShortcut, slack.InteractionTypeMessageAction:
		return nil, in.shortcut(ctx)
	case slack.InteractionTypeViewClosed:
		return nil, nil
	}
	return nil, fmt.Errorf("%w: interaction type %q", errUnreadable, in.Type)
}

// uninstalled answers somebody in a team that has not installed the app: only
// what needs no token.
func (v *Receiver) uninstalled(ctx context.Context, in Interaction) (answer any) {
	if in.Type == slack.InteractionTypeViewSubmission {
		return refusalAt(in, &flows.Refusal{Reason: screens.Uninstalled(v.InstallPage)})
	}
	if in.ResponseURL != "" {
		err := v.Teams.Responder().Respond(ctx, in.ResponseURL, block.Escape(screens.Uninstalled(v.InstallPage)))
		if err != nil {
			v.Logger.Warn("a word to one person was not delivered", "error", err)
		}
	}
	return nil
}

// request reads who wants something, and about which kickoff. It is of use
// with a refusal, too: to tell it.
func (in interaction) request(ctx context.Context, args string) (*request, error) {
	a, err := screens.ParseArgs(args)
	if err != nil {
		return &request{team: in.team}, fmt.Errorf("%w: %w", errUnreadable, err)
	}
	r := &request{team: in.team, key: journal.Key{Team: in.id, Kickoff: a.Kickoff}, trigger: in.TriggerID, url: in.ResponseURL,
		surface: in.View.Type, source: in.source(), delivery: "click/" + in.TriggerID}
	r.page = screens.Page{Viewer: flows.UserID(in.User.ID), Now: in.Clock(), Args: a, Drafting: drafts.Terms(in.Drafter)}
	if a.Kickoff == "" {
		return r, nil // the form that begins one
	}
	r.page.Kickoff, err = in.Kickoffs.Load(ctx, r.key)
	if err == nil && r.page.Kickoff.Started.IsZero() { // of another team, or purged
		err = &flows.Refusal{Reason: "That kickoff is not in this workplace, so nothing was changed."}
	}
	return r, err
}

// sourceTime is how long the address of a press is used: the platform takes
// answers there for half an hour.
const sourceTime = 25 * time.Minute

// source is the message in which a button was pressed, or which a form was
// opened from. What one person alone sees is none: nobody keeps it current.
func (in interaction) source() *screens.Source {
	if at := in.Container; at.TS != "" && !at.Ephemeral && in.ResponseURL != "" {
		return &screens.Source{Channel: at.Channel, TS: at.TS, URL: in.ResponseURL, Until: in.Clock().Add(sourceTime).Unix()}
	}
	if a, err := screens.ParseArgs(in.View.PrivateMetadata); err == nil {
		return a.Source
	}
	return nil
}

// pressed handles buttons and the choices on a ballot.
func (in interaction) pressed(ctx context.Context) error {
	for _, action := range in.Actions {
		var err error
		if action.Value == "" { // of a list to choose from, the choice says what it is about
			action.Value = action.SelectedOption.Value
		}
		switch verb, name, _ := strings.Cut(action.ActionID, "/"); verb {
		case "open":
			err = in.openForm(ctx, name, action.Value)
		case "do":
			err = in.doAction(ctx, name, action.Value)
		case "rate":
			err = in.choose(ctx, action)
		case "draft":
			err = in.pressedDrafting(ctx, name, action.Value)
		case block.InputAction:
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
func (in interaction) openForm(ctx context.Context, name, args string) error {
	r, err := in.request(ctx, args)
	if err == nil && name == "brief.start" {
		err = in.channelFree(ctx, r.page.Args.Choice)
	}
	if err == nil {
		r.page.Args.Source = r.source
		err = r.open(ctx, name)
	}
	return r.tell(ctx, err)
}

// doAction does what a button means.
func (in interaction) doAction(ctx context.Context, name, args string) error {
	r, err := in.request(ctx, args)
	if err == nil {
		err = r.act(ctx, name)
	}
	return r.tell(ctx, err)
}

// choose saves one choice on a ballot.
func (in interaction) choose(ctx context.Context, action slack.BlockAction) error {
	r, err := in.request(ctx, in.View.PrivateMetadata)
	if err == nil {
		intent, ok := screens.Choice(r.page, action.ActionID, action.SelectedOption.Value)
		if !ok {
			return fmt.Errorf("%w: choice %q", errUnreadable, action.ActionID)
		}
		err = r.do(ctx, intent)
	}
	if refusal, is := errors.AsType[*flows.Refusal](err); is {
		return in.chat.UpdateView(ctx, in.View.ID, "", screens.Notice("Not saved", refusal.Reason))
	}
	return err
}

// shortcut opens the form behind a shortcut.
func (in interaction) shortcut(ctx context.Context) error {
	switch in.CallbackID {
	case manifest.ShortcutLog:
		return in.logAssumption(ctx)
	case manifest.ShortcutStart: // it belongs to no channel, so the form asks for one
		return in.openForm(ctx, "brief.start", screens.Args{}.String())
	}
	return fmt.Errorf("%w: shortcut %q", errUnreadable, in.CallbackID)
}

// logAssumption opens the form for an assumption with a message's words.
func (in interaction) logAssumption(ctx context.Context) error {
	id, err := in.Journal.Index.InChannel(ctx, in.id, in.Channel.ID)
	if err != nil {
		return err
	}
	if id == "" {
		return in.chat.Respond(ctx, in.ResponseURL, "No kickoff is open in this channel, so there is nowhere to log this.")
	}
	r, err := in.request(ctx, screens.Args{Kickoff: id}.String())
	if err != nil {
		return err
	}
	r.page.Typed = plaintext.Unescape(in.Message.Text)
	view, err := screens.Open("assumptions.add", r.page)
	if err != nil {
		return r.tell(ctx, err)
	}
	return r.present(ctx, view)
}
