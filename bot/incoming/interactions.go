package incoming

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/manifest"
	"soundings/bot/plaintext"
	"soundings/bot/screens"
	"soundings/bot/screens/rating"
	"soundings/bot/screens/screen"
	"soundings/bot/teams"
	"soundings/flows"
)

// An Interaction is what we read of a pressed button, a choice, a form or a
// shortcut. The platform sends the whole message or form along; decoding all
// of it for each tap on a ballot would be most of the work, and a block that
// the client library cannot read would cost somebody their answer. The library
// here passes over the rest without making anything of it, at three times the
// speed of encoding/json.
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
	RawBlocks       jsontext.Value `json:"blocks"`
	RawState        jsontext.Value `json:"state"`

	blocks []blockHead  // by read
	values block.Values // by read
}

// read reads what was entered, and into which blocks. A choice on a ballot,
// with which all of a form is sent, needs none of it.
func (v *FormView) read() error {
	var state struct {
		Values map[string]map[string]slack.BlockAction `json:"values"`
	}
	if len(v.RawState) > 0 {
		if err := json.Unmarshal(v.RawState, &state, leniently); err != nil {
			return fmt.Errorf("%w: %w", errUnreadable, err)
		}
	}
	if len(v.RawBlocks) > 0 {
		if err := json.Unmarshal(v.RawBlocks, &v.blocks, leniently); err != nil {
			return fmt.Errorf("%w: %w", errUnreadable, err)
		}
	}
	v.values = block.Values(state.Values).ByField()
	return nil
}

// parseInteraction reads what the platform sent.
func parseInteraction(payload []byte) (in Interaction, err error) {
	if err := json.Unmarshal(payload, &in, leniently); err != nil {
		return in, fmt.Errorf("%w: %w", errUnreadable, err)
	}
	return in, nil
}

// leniently reads what the platform sends as encoding/json does: what people
// type may hold bytes that are no text, and a name that comes twice costs
// nobody an answer.
var leniently = json.JoinOptions(jsontext.AllowInvalidUTF8(true), jsontext.AllowDuplicateNames(true))

// A blockHead tells a block's kind and name.
type blockHead struct {
	Type slack.MessageBlockType `json:"type"`
	ID   string                 `json:"block_id"`
}

// Interact handles a pressed button, a choice, a form. Its answer, if any,
// goes back in the acknowledgement.
func (v *Receiver) Interact(ctx context.Context, in Interaction) (answer any, err error) {
	defer v.count(string(in.Type), time.Now(), &err)
	if in.TriggerID == "" && in.Type != slack.InteractionTypeViewClosed {
		return nil, errNoTrigger
	}
	find := v.Teams.Get
	if in.chooses() {
		find = v.Teams.Recent
	}
	t, err := v.served(find(ctx, in.Team.ID))
	if errors.Is(err, teams.ErrUninstalled) {
		v.Logger.Info("somebody uses the app in a team that has taken it away", "team", in.Team.ID, "reason", err)
		return v.uninstalled(ctx, in), nil
	}
	if err != nil {
		return nil, err
	}
	switch in.Type {
	case slack.InteractionTypeBlockActions:
		return nil, t.pressed(ctx, in)
	case slack.InteractionTypeViewSubmission:
		return t.submitted(ctx, in)
	case slack.InteractionTypeShortcut, slack.InteractionTypeMessageAction:
		return nil, t.shortcut(ctx, in)
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

// sourceTime is how long the address of a press is used: the platform takes
// answers there for half an hour.
const sourceTime = 25 * time.Minute

// source is the message in which a button was pressed, or which a form was
// opened from. What one person alone sees is none: nobody keeps it current.
func (in Interaction) source(now time.Time) *screen.Source {
	if at := in.Container; at.TS != "" && !at.Ephemeral && in.ResponseURL != "" {
		return &screen.Source{Channel: at.Channel, TS: at.TS, URL: in.ResponseURL, Until: now.Add(sourceTime).Unix()}
	}
	if a, err := screen.ParseArgs(in.View.PrivateMetadata); err == nil {
		return a.Source
	}
	return nil
}

// chooses reports that all this is about is choices on a ballot.
func (in Interaction) chooses() bool {
	return len(in.Actions) > 0 && !slices.ContainsFunc(in.Actions, func(a slack.BlockAction) bool {
		return !strings.HasPrefix(a.ActionID, "rate/")
	})
}

// pressed handles buttons and the choices on a ballot.
func (t *team) pressed(ctx context.Context, in Interaction) error {
	for _, action := range in.Actions {
		verb, name, _ := strings.Cut(action.ActionID, "/")
		// Of a list to choose from, the choice says what it is about.
		args := cmp.Or(action.Value, action.SelectedOption.Value)
		var err error
		switch do := verbs[verb]; {
		case do != nil:
			err = t.asked(ctx, in, args, func(r *request) error { return do(r, ctx, name) })
		case verb == "rate":
			err = t.choose(ctx, in, action)
		case verb == block.InputAction:
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

// verbs are what a button does with the name that follows its verb.
var verbs = map[string]func(*request, context.Context, string) error{
	"open":  (*request).openForm,
	"turn":  (*request).turn,
	"do":    (*request).act,
	"draft": (*request).pressedDrafting,
}

// asked does what somebody asks for, or tells them why not.
func (t *team) asked(ctx context.Context, in Interaction, args string, do func(*request) error) error {
	r, err := t.request(ctx, in, args)
	if err == nil {
		err = do(r)
	}
	return r.tell(ctx, err)
}

// choose saves one choice on a ballot. There are thousands of them, so nothing
// is read that saving it does not need.
func (t *team) choose(ctx context.Context, in Interaction, action slack.BlockAction) error {
	r, err := t.unread(in, in.View.PrivateMetadata)
	if err == nil {
		intent, ok := rating.Choice(r.page, action.ActionID, action.SelectedOption.Value)
		if !ok {
			return fmt.Errorf("%w: choice %q", errUnreadable, action.ActionID)
		}
		if err = r.do(ctx, intent); errors.As(err, new(*flows.Refusal)) {
			err = cmp.Or(r.load(ctx), err) // of another team, or purged, it is said to be
		}
	}
	if refusal, is := errors.AsType[*flows.Refusal](err); is {
		return t.chat.UpdateView(ctx, in.View.ID, screens.Notice("Not saved", refusal.Reason))
	}
	return err
}

// shortcut opens the form behind a shortcut.
func (t *team) shortcut(ctx context.Context, in Interaction) error {
	switch in.CallbackID {
	case manifest.ShortcutLog:
		return t.logAssumption(ctx, in)
	case manifest.ShortcutStart: // it belongs to no channel, so the form asks for one
		return t.asked(ctx, in, screen.Args{}.String(), func(r *request) error { return r.openForm(ctx, "brief.start") })
	}
	return fmt.Errorf("%w: shortcut %q", errUnreadable, in.CallbackID)
}

// logAssumption opens the form for an assumption with a message's words.
func (t *team) logAssumption(ctx context.Context, in Interaction) error {
	id, err := t.Journal.Index.InChannel(ctx, t.id, in.Channel.ID)
	if err != nil {
		return err
	}
	if id == "" {
		return t.chat.Respond(ctx, in.ResponseURL, "No kickoff is open in this channel, so there is nowhere to log this.")
	}
	return t.asked(ctx, in, screen.Args{Kickoff: id}.String(), func(r *request) error {
		r.page.Typed = plaintext.Unescape(in.Message.Text)
		return r.open(ctx, "assumptions.add")
	})
}
