package chat

import (
	"context"

	"github.com/slack-go/slack"

	"soundings/bot/screens"
	"soundings/flows"
)

// A Tag travels with a message as its metadata, so that a message whose
// sending was cut off can be found. Anyone in the workspace can read it.
type Tag struct{ Kickoff, Slot string }

const tagEvent = "soundings_message"

// Post sends a message to a channel or a person, or into a thread.
func (c *Client) Post(ctx context.Context, to, thread string, tag Tag, m screens.Posting) (flows.Posting, error) {
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
func (c *Client) Say(ctx context.Context, channel, thread string, m screens.Posting) error {
	options := content(m)
	if thread != "" {
		options = append(options, slack.MsgOptionTS(thread))
	}
	_, _, err := c.api.PostMessageContext(ctx, channel, options...)
	return explain("chat.postMessage", err)
}

// Ephemeral shows a message to one person alone, in a channel or in a thread that
// has begun. Whether it is seen is never certain: they must be there.
func (c *Client) Ephemeral(ctx context.Context, channel, thread string, to flows.UserID, m screens.Posting) error {
	options := content(m)
	if thread != "" {
		options = append(options, slack.MsgOptionTS(thread))
	}
	_, err := c.api.PostEphemeralContext(ctx, channel, string(to), options...)
	return explain("chat.postEphemeral", err)
}

// Update changes a message of ours. ErrGone says that it cannot be changed.
func (c *Client) Update(ctx context.Context, at flows.Posting, m screens.Posting) error {
	_, _, _, err := c.api.UpdateMessageContext(ctx, at.Channel, at.TS, content(m)...)
	return explain("chat.update", err)
}

// Find looks for a message of ours by its tag among the latest hundred of a
// channel or thread, passing over the one that is gone. Without the right to
// read them it finds nothing, and the message may stand twice: rare, and
// better than not at all.
func (c *Client) Find(ctx context.Context, channel, thread string, tag Tag, gone string) (at flows.Posting, found bool, err error) {
	messages, err := c.latest(ctx, channel, thread)
	for _, m := range messages {
		data := m.Metadata.EventPayload
		if m.Metadata.EventType == tagEvent && data["kickoff"] == tag.Kickoff && data["slot"] == tag.Slot && m.Timestamp != gone {
			return flows.Posting{Channel: channel, TS: m.Timestamp}, true, nil
		}
	}
	return flows.Posting{}, false, err
}

// latest are up to a hundred messages of a channel or thread; none where the
// app may not read them. A call that was lost is an error: to take it for
// "nothing there" would post a message twice.
func (c *Client) latest(ctx context.Context, channel, thread string) ([]slack.Message, error) {
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

// Pin pins a message, or takes the pin away.
func (c *Client) Pin(ctx context.Context, at flows.Posting, on bool) error {
	item := slack.NewRefToMessage(at.Channel, at.TS)
	if !on {
		return unlessRefused(explain("pins.remove", c.api.RemovePinContext(ctx, at.Channel, item)), "no_pin")
	}
	return unlessRefused(explain("pins.add", c.api.AddPinContext(ctx, at.Channel, item)), "already_pinned")
}
