package bot

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"sync"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/bot/screens"
	"soundings/flows"
)

// What can be wrong with a call to the platform, as far as callers care.
// Whatever else goes wrong may pass: trying again may help.
var (
	ErrGone       = errors.New("the message cannot be changed any more")
	ErrClosedDoor = errors.New("the platform does not let us in")
	ErrNotAllowed = errors.New("the app lacks the right to do this")
	ErrRevoked    = errors.New("the token was revoked") // also an ErrClosedDoor
)

// A RateLimited error says how long the platform asks us to wait.
type RateLimited struct {
	Wait   time.Duration
	Method string
}

func (e *RateLimited) Error() string {
	return fmt.Sprintf("%s: the platform asks to wait %v", e.Method, e.Wait)
}

// A Tag travels with a message as its metadata, so that a message whose
// sending was cut off can be found. Anyone in the workspace can read it.
type Tag struct{ Kickoff, Slot string }

const tagEvent = "soundings_message"

// Chat is the one way to the Web API. It makes each call once: waiting and
// trying again is the queue's work.
type Chat struct {
	api    *slack.Client
	client *http.Client

	mu   sync.Mutex
	self flows.UserID // the bot's own account, once it was asked for
}

// callTimeout bounds every call; the platform answers within a second or
// something is wrong.
const callTimeout = 10 * time.Second

// NewChat makes a Chat for one workspace. apiURL is empty for the platform
// itself, or the address of a local workspace, ending in a slash.
func NewChat(token, apiURL string, client *http.Client) *Chat {
	if client == nil {
		client = &http.Client{Timeout: callTimeout}
	}
	options := []slack.Option{slack.OptionHTTPClient(client)}
	if apiURL != "" {
		options = append(options, slack.OptionAPIURL(apiURL))
	}
	return &Chat{api: slack.New(token, options...), client: client}
}

// Post sends a message to a channel or a person, or into a thread.
func (c *Chat) Post(ctx context.Context, to, thread string, tag Tag, m screens.Posting) (flows.Posting, error) {
	options := content(m)
	options = append(options, slack.MsgOptionMetadata(slack.SlackMetadata{
		EventType:    tagEvent,
		EventPayload: map[string]any{"kickoff": tag.Kickoff, "slot": tag.Slot},
	}))
	if thread != "" {
		options = append(options, slack.MsgOptionTS(thread))
	}
	channel, ts, err := c.api.PostMessageContext(ctx, to, options...)
	if err != nil {
		return flows.Posting{}, explain("chat.postMessage", err)
	}
	return flows.Posting{Channel: channel, TS: ts}, nil
}

// content never unfurls links and never turns words into mentions.
func content(m screens.Posting) []slack.MsgOption {
	return []slack.MsgOption{
		slack.MsgOptionText(m.Text, false),
		slack.MsgOptionBlocks(m.Blocks...),
		slack.MsgOptionDisableLinkUnfurl(),
		slack.MsgOptionDisableMediaUnfurl(),
	}
}

// Say sends a message that nobody will look for again, to a channel or into a
// thread.
func (c *Chat) Say(ctx context.Context, channel, thread string, m screens.Posting) error {
	options := content(m)
	if thread != "" {
		options = append(options, slack.MsgOptionTS(thread))
	}
	_, _, err := c.api.PostMessageContext(ctx, channel, options...)
	return explain("chat.postMessage", err)
}

// Aside shows a message to one person alone, in a channel or in a thread that
// has begun. Whether it is seen is never certain: they must be there.
func (c *Chat) Aside(ctx context.Context, channel, thread string, to flows.UserID, m screens.Posting) error {
	options := content(m)
	if thread != "" {
		options = append(options, slack.MsgOptionTS(thread))
	}
	_, err := c.api.PostEphemeralContext(ctx, channel, string(to), options...)
	return explain("chat.postEphemeral", err)
}

// Update changes a message of ours. ErrGone says that it cannot be changed.
func (c *Chat) Update(ctx context.Context, at flows.Posting, m screens.Posting) error {
	_, _, _, err := c.api.UpdateMessageContext(ctx, at.Channel, at.TS, content(m)...)
	return explain("chat.update", err)
}

// Find looks for a message of ours by its tag among the latest hundred of a
// channel or thread, passing over the one that is gone. Without the right to
// read them it finds nothing, and the message may stand twice: rare, and
// better than not at all.
func (c *Chat) Find(ctx context.Context, channel, thread string, tag Tag, gone string) (at flows.Posting, found bool, err error) {
	messages, err := c.latest(ctx, channel, thread)
	for _, m := range messages {
		data := m.Metadata.EventPayload
		if m.Metadata.EventType == tagEvent && data["kickoff"] == tag.Kickoff && data["slot"] == tag.Slot && m.Timestamp != gone {
			return flows.Posting{Channel: channel, TS: m.Timestamp}, true, nil
		}
	}
	return flows.Posting{}, false, err
}

// Shared looks for a file in the thread of a message.
func (c *Chat) Shared(ctx context.Context, at flows.Posting, name string) (bool, error) {
	messages, err := c.latest(ctx, at.Channel, at.TS)
	return slices.ContainsFunc(messages, func(m slack.Message) bool {
		return slices.ContainsFunc(m.Files, func(f slack.File) bool { return f.Name == name })
	}), err
}

// latest are up to a hundred messages of a channel or thread; none where the
// app may not read them. A call that was lost is an error: to take it for
// "nothing there" would post a message twice.
func (c *Chat) latest(ctx context.Context, channel, thread string) ([]slack.Message, error) {
	if thread != "" {
		found, _, _, err := c.api.GetConversationRepliesContext(ctx, &slack.GetConversationRepliesParameters{
			ChannelID: channel, Timestamp: thread, Limit: 100, IncludeAllMetadata: true})
		return found, unlessUnreadable(explain("conversations.replies", err))
	}
	history, err := c.api.GetConversationHistoryContext(ctx, &slack.GetConversationHistoryParameters{
		ChannelID: channel, Limit: 100, IncludeAllMetadata: true})
	if err != nil {
		return nil, unlessUnreadable(explain("conversations.history", err))
	}
	return history.Messages, nil
}

// unlessUnreadable passes over what no second try would let us read.
func unlessUnreadable(err error) error {
	if errors.Is(err, ErrNotAllowed) || errors.Is(err, ErrClosedDoor) {
		return nil
	}
	return err
}

// OpenView opens a form within the trigger's three seconds. It is never
// queued.
func (c *Chat) OpenView(ctx context.Context, trigger string, view slack.ModalViewRequest) error {
	_, err := c.api.OpenViewContext(ctx, trigger, view)
	return explain("views.open", err)
}

// PushView puts a form on top of an open one.
func (c *Chat) PushView(ctx context.Context, trigger string, view slack.ModalViewRequest) error {
	_, err := c.api.PushViewContext(ctx, trigger, view)
	return explain("views.push", err)
}

// UpdateView replaces an open form, unless it has changed since hash.
func (c *Chat) UpdateView(ctx context.Context, viewID, hash string, view slack.ModalViewRequest) error {
	_, err := c.api.UpdateViewContext(ctx, view, "", hash, viewID)
	return explain("views.update", err)
}

// PublishHome sets somebody's home tab.
func (c *Chat) PublishHome(ctx context.Context, to flows.UserID, view slack.HomeTabViewRequest) error {
	_, err := c.api.PublishViewContext(ctx, slack.PublishViewContextRequest{UserID: string(to), View: view})
	return explain("views.publish", err)
}

// Pin pins a message, or takes the pin away.
func (c *Chat) Pin(ctx context.Context, at flows.Posting, on bool) error {
	item := slack.NewRefToMessage(at.Channel, at.TS)
	if !on {
		return ignoring(explain("pins.remove", c.api.RemovePinContext(ctx, at.Channel, item)), "no_pin")
	}
	return ignoring(explain("pins.add", c.api.AddPinContext(ctx, at.Channel, item)), "already_pinned")
}

// ignoring takes an answer that says "so it is already" as a success.
func ignoring(err error, code string) error {
	var answer slack.SlackErrorResponse
	if errors.As(err, &answer) && answer.Err == code {
		return nil
	}
	return err
}

// Upload hands the platform a file, which stands nowhere until it is shared.
func (c *Chat) Upload(ctx context.Context, f report.File) (id string, err error) {
	place, err := c.api.GetUploadURLExternalContext(ctx, slack.GetUploadURLExternalParameters{
		FileName: f.Name, FileSize: len(f.Data), AltTxt: f.Alt})
	if err != nil {
		return "", explain("files.getUploadURLExternal", err)
	}
	err = c.api.UploadToURL(ctx, slack.UploadToURLParameters{UploadURL: place.UploadURL, Filename: f.Name, Reader: bytes.NewReader(f.Data)})
	return place.FileID, explain("files.upload", err)
}

// An Uploaded file is known to the platform by its id.
type Uploaded = slack.FileSummary

// Share puts uploaded files into the thread of a message, all in one message.
func (c *Chat) Share(ctx context.Context, at flows.Posting, files []Uploaded) error {
	_, err := c.api.CompleteUploadExternalContext(ctx, slack.CompleteUploadExternalParameters{
		Files: files, Channel: at.Channel, ThreadTimestamp: at.TS})
	return explain("files.completeUploadExternal", err)
}

// Person asks the platform who somebody is. isBot is true for apps.
func (c *Chat) Person(ctx context.Context, u flows.UserID) (p flows.Person, isBot bool, err error) {
	user, err := c.api.GetUserInfoContext(ctx, string(u))
	if err != nil {
		return flows.Person{}, false, explain("users.info", err)
	}
	name := user.Profile.DisplayName
	for _, n := range []string{user.RealName, user.Name, string(u)} {
		if name == "" {
			name = n
		}
	}
	return flows.Person{ID: u, Name: name, Zone: user.TZ}, user.IsBot || user.Deleted, nil
}

// Guest reports whether somebody has a guest's account.
func (c *Chat) Guest(ctx context.Context, u flows.UserID) (bool, error) {
	user, err := c.api.GetUserInfoContext(ctx, string(u))
	if err != nil {
		return false, explain("users.info", err)
	}
	return user.IsRestricted || user.IsUltraRestricted, nil
}

// Self is the bot's own account. The platform is asked once.
func (c *Chat) Self(ctx context.Context) (flows.UserID, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.self == "" {
		answer, err := c.api.AuthTestContext(ctx)
		if err != nil {
			return "", explain("auth.test", err)
		}
		c.self = flows.UserID(answer.UserID)
	}
	return c.self, nil
}

// Team is the team whose token this is, as the platform says at this moment.
func (c *Chat) Team(ctx context.Context) (string, error) {
	answer, err := c.api.AuthTestContext(ctx)
	if err != nil {
		return "", explain("auth.test", err)
	}
	return answer.TeamID, nil
}

// ChannelsOf lists the channels in which somebody is, private ones only where
// the bot is as well. Archived ones are left out.
func (c *Chat) ChannelsOf(ctx context.Context, u flows.UserID) ([]string, error) {
	var ids []string
	ask := slack.GetConversationsForUserParameters{UserID: string(u), Limit: 900, ExcludeArchived: true,
		Types: []string{"public_channel", "private_channel"}}
	for {
		channels, next, err := c.api.GetConversationsForUserContext(ctx, &ask)
		if err != nil {
			return nil, explain("users.conversations", err)
		}
		for _, channel := range channels {
			ids = append(ids, channel.ID)
		}
		if next == "" {
			return ids, nil
		}
		ask.Cursor = next
	}
}

// Whisper answers a pressed button to the one who pressed it. It costs no
// Web API call, and its failure is nobody's loss but theirs.
func (c *Chat) Whisper(ctx context.Context, responseURL, text string) error {
	err := slack.PostWebhookCustomHTTPContext(ctx, responseURL, c.client, &slack.WebhookMessage{
		Text: text, ResponseType: slack.ResponseTypeEphemeral, ReplaceOriginal: false})
	if err != nil {
		return fmt.Errorf("answer a button: %w", withoutAddress(err))
	}
	return nil
}

// Redraw changes the message in which a button was pressed, at the address
// that came with the press. It costs no Web API call.
func (c *Chat) Redraw(ctx context.Context, responseURL string, m screens.Posting) error {
	err := slack.PostWebhookCustomHTTPContext(ctx, responseURL, c.client, &slack.WebhookMessage{
		Text: m.Text, Blocks: &slack.Blocks{BlockSet: m.Blocks}, ReplaceOriginal: true})
	if err != nil {
		return fmt.Errorf("redraw the message of a button: %w", withoutAddress(err))
	}
	return nil
}

// withoutAddress leaves out where a call went: an address that the platform
// handed out to answer a button, or to take a file, is a key to it.
func withoutAddress(err error) error {
	var call *url.Error
	if errors.As(err, &call) {
		return call.Err
	}
	return err
}

// lost reports that trying again at once may help: the platform neither
// answered no nor asked to wait.
func lost(err error) bool {
	var limited *RateLimited
	return !errors.As(err, &limited) && !refusedBy(err)
}

// refusedBy reports that the platform answered no.
func refusedBy(err error) bool {
	var answer slack.SlackErrorResponse
	return errors.As(err, &answer)
}

// explain wraps an error of the platform in what callers can act upon.
func explain(method string, err error) error {
	if err == nil {
		return nil
	}
	var limited *slack.RateLimitedError
	if errors.As(err, &limited) {
		return &RateLimited{Wait: limited.RetryAfter, Method: method}
	}
	var answer slack.SlackErrorResponse
	if !errors.As(err, &answer) {
		return fmt.Errorf("%s: %w", method, withoutAddress(err))
	}
	is := func(codes ...string) bool { return slices.Contains(codes, answer.Err) }
	switch {
	case method == "chat.update" && is("message_not_found", "edit_window_closed", "cant_update_message"),
		method == "canvases.edit" && is("canvas_not_found", "file_not_found", "canvas_deleted"):
		return fmt.Errorf("%s: %w: %w", method, ErrGone, err)
	case is("missing_scope", "not_allowed_token_type", "no_permission"):
		return fmt.Errorf("%s: %w: %w", method, ErrNotAllowed, err)
	case is("token_revoked", "account_inactive"):
		return fmt.Errorf("%s: %w: %w: %w", method, ErrRevoked, ErrClosedDoor, err)
	case is("channel_not_found", "not_in_channel", "is_archived", "is_inactive", "invalid_auth", "not_authed",
		"user_not_found", "restricted_action", "cannot_dm_bot"):
		return fmt.Errorf("%s: %w: %w", method, ErrClosedDoor, err)
	}
	return fmt.Errorf("%s: %w", method, err)
}
