package chat

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"time"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/bot/screens/screen"
	"soundings/flows/state"
)

// A Tag travels with a message as its metadata, so that a message whose
// sending was cut off can be found, and one that shows more than the journal
// knows can be told. Anyone in the workspace can read it.
type Tag struct {
	Kickoff, Slot string
	Entry         int64 // the last entry of the journal that it shows
}

const tagEvent = "soundings_message"

// Post sends a message to a channel or a person, or into a thread. One that
// nobody will look for again has the zero Tag.
func (c *Client) Post(ctx context.Context, to, thread string, tag Tag, m screen.Posting) (state.Posting, error) {
	options := append(content(m, thread), tag.options()...)
	channel, ts, err := c.api.PostMessageContext(ctx, to, options...)
	return state.Posting{Channel: channel, TS: ts}, explain("chat.postMessage", err)
}

func (t Tag) options() []slack.MsgOption {
	if t == (Tag{}) {
		return nil
	}
	return []slack.MsgOption{slack.MsgOptionMetadata(slack.SlackMetadata{EventType: tagEvent,
		EventPayload: map[string]any{"kickoff": t.Kickoff, "slot": t.Slot, "entry": t.Entry}})}
}

// tagOf is the tag of a message; the zero Tag where it is none of ours. What
// older releases sent says nothing of entries.
func tagOf(m slack.Message) (t Tag) {
	if data := m.Metadata.EventPayload; m.Metadata.EventType == tagEvent {
		t.Kickoff, _ = data["kickoff"].(string)
		t.Slot, _ = data["slot"].(string)
		entry, _ := data["entry"].(float64)
		t.Entry = int64(entry)
	}
	return t
}

// content never unfurls links and never turns words into mentions.
func content(m screen.Posting, thread string) []slack.MsgOption {
	options := []slack.MsgOption{slack.MsgOptionText(m.Text, false), slack.MsgOptionBlocks(m.Blocks...),
		slack.MsgOptionDisableLinkUnfurl(), slack.MsgOptionDisableMediaUnfurl()}
	if thread != "" {
		options = append(options, slack.MsgOptionTS(thread))
	}
	return options
}

// Ephemeral shows a message to one person alone, in a channel or in a thread that
// has begun. Whether it is seen is never certain: they must be there.
func (c *Client) Ephemeral(ctx context.Context, channel, thread string, to state.UserID, m screen.Posting) error {
	_, err := c.api.PostEphemeralContext(ctx, channel, string(to), content(m, thread)...)
	return explain("chat.postEphemeral", err)
}

// Respond answers a pressed button to the one who pressed it. It costs no
// Web API call.
func (c *Client) Respond(ctx context.Context, responseURL, text string) error {
	return c.respond(ctx, responseURL, slack.WebhookMessage{Text: text, ResponseType: slack.ResponseTypeEphemeral})
}

// Replace changes the message in which a button was pressed, at the address
// that came with the press. It costs no Web API call.
func (c *Client) Replace(ctx context.Context, responseURL string, m screen.Posting) error {
	return c.respond(ctx, responseURL, slack.WebhookMessage{Text: m.Text, Blocks: &slack.Blocks{BlockSet: m.Blocks}, ReplaceOriginal: true})
}

func (c *Client) respond(ctx context.Context, responseURL string, m slack.WebhookMessage) error {
	if !c.answersAt(responseURL) {
		return errForeign
	}
	return explain("respond to a button", slack.PostWebhookCustomHTTPContext(ctx, responseURL, c.client, &m))
}

// errForeign says that nothing was sent: whoever can put an address into a
// payload or into Redis would have the bot call it from inside its network.
var errForeign = errors.New("respond to a button: the address is neither the platform's nor that of SLACK_API_URL")

// answersAt reports whether an answer may be sent to an address: at the hosts
// where the platform takes them, or at the Web API that the bot was told to use.
func (c *Client) answersAt(address string) bool {
	u, err := url.Parse(address)
	if err != nil {
		return false
	}
	if c.apiURL != "" {
		if api, err := url.Parse(c.apiURL); err == nil && u.Scheme == api.Scheme && u.Host == api.Host {
			return true
		}
	}
	return u.Scheme == "https" && (u.Host == "hooks.slack.com" || u.Host == "hooks.slack-gov.com")
}

// Update changes a message of ours. ErrGone says that it cannot be changed.
func (c *Client) Update(ctx context.Context, at state.Posting, tag Tag, m screen.Posting) error {
	_, _, _, err := c.api.UpdateMessageContext(ctx, at.Channel, at.TS, append(content(m, ""), tag.options()...)...)
	return explain("chat.update", err)
}

// Delete takes a message of ours away; one that is gone already is no error.
// What people wrote under it stays.
func (c *Client) Delete(ctx context.Context, at state.Posting) error {
	_, _, err := c.api.DeleteMessageContext(ctx, at.Channel, at.TS)
	return unlessRefused(explain("chat.delete", err), "message_not_found")
}

// A Place is where messages stand: a channel, or a thread in it.
type Place struct{ Channel, Thread string }

// Find looks for a message of ours by its tag among those sent since a time,
// passing over the one that is gone. Without the right to read them it finds
// nothing, and the message may stand twice: rare, and better than not at all.
func (c *Client) Find(ctx context.Context, in Place, since time.Time, tag Tag, gone string) (at state.Posting, found bool, err error) {
	at.Channel = in.Channel
	found, err = c.search(ctx, in, since, func(m slack.Message) bool {
		has := tagOf(m)
		at.TS = m.Timestamp
		return has.Kickoff == tag.Kickoff && has.Slot == tag.Slot && m.Timestamp != gone
	})
	return at, found, err
}

// A Standing message is one of ours, where it stands.
type Standing struct {
	Tag
	At state.Posting
}

// Newest finds the messages of a kickoff among the newest in a channel, or
// among the first in a thread, as many as come with one call. It finds none
// where the app may not read them.
func (c *Client) Newest(ctx context.Context, in Place, kickoff string) (found []Standing, err error) {
	page, _, err := c.read(ctx, in, "", "")
	for _, m := range page {
		if tag := tagOf(m); tag.Kickoff == kickoff {
			found = append(found, Standing{tag, state.Posting{Channel: in.Channel, TS: m.Timestamp}})
		}
	}
	return found, unlessUnreadable(err)
}

const (
	searchPage = 200 // messages at once, as the platform advises
	clockSkew  = 5 * time.Minute
)

// search looks through all messages since a time, or since ever where that is
// zero, until one matches. It finds nothing where the app may not read them. A
// call that was lost is an error: to take it for "nothing there" would post a
// message twice.
func (c *Client) search(ctx context.Context, in Place, since time.Time, match func(slack.Message) bool) (bool, error) {
	oldest := ""
	if !since.IsZero() {
		oldest = fmt.Sprintf("%d.000000", since.Add(-clockSkew).Unix())
	}
	for cursor := ""; ; {
		page, next, err := c.read(ctx, in, oldest, cursor)
		if err != nil {
			return false, unlessUnreadable(err)
		}
		if slices.ContainsFunc(page, match) {
			return true, nil
		}
		if cursor = next; cursor == "" {
			return false, nil
		}
	}
}

// read reads one page of a channel or thread, and says where the next begins.
func (c *Client) read(ctx context.Context, in Place, oldest, cursor string) (page []slack.Message, next string, err error) {
	asked := slack.GetConversationHistoryParameters{ChannelID: in.Channel, Oldest: oldest, Cursor: cursor, Limit: searchPage, IncludeAllMetadata: true}
	if in.Thread == "" {
		history, err := c.api.GetConversationHistoryContext(ctx, &asked)
		if err != nil {
			return nil, "", explain("conversations.history", err)
		}
		return history.Messages, history.ResponseMetaData.NextCursor, nil
	}
	page, _, next, err = c.api.GetConversationRepliesContext(ctx, &slack.GetConversationRepliesParameters{
		ChannelID: in.Channel, Timestamp: in.Thread, Oldest: oldest, Cursor: cursor, Limit: searchPage, IncludeAllMetadata: true})
	return page, next, explain("conversations.replies", err)
}

// Pin pins a message, or takes the pin away.
func (c *Client) Pin(ctx context.Context, at state.Posting, on bool) error {
	item := slack.NewRefToMessage(at.Channel, at.TS)
	if !on {
		return unlessRefused(explain("pins.remove", c.api.RemovePinContext(ctx, at.Channel, item)), "no_pin")
	}
	return unlessRefused(explain("pins.add", c.api.AddPinContext(ctx, at.Channel, item)), "already_pinned")
}

// Upload hands the platform a file, which stands nowhere until it is shared.
func (c *Client) Upload(ctx context.Context, f report.File) (id string, err error) {
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
func (c *Client) Share(ctx context.Context, at state.Posting, files []Uploaded) error {
	_, err := c.api.CompleteUploadExternalContext(ctx, slack.CompleteUploadExternalParameters{
		Files: files, Channel: at.Channel, ThreadTimestamp: at.TS})
	return explain("files.completeUploadExternal", err)
}

// Shared looks for a file in the thread of a message, among what was sent
// there since a time.
func (c *Client) Shared(ctx context.Context, at state.Posting, since time.Time, name string) (bool, error) {
	return c.search(ctx, Place{at.Channel, at.TS}, since, func(m slack.Message) bool {
		return slices.ContainsFunc(m.Files, func(f slack.File) bool { return f.Name == name })
	})
}
