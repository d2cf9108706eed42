package chat

import (
	"context"
	"errors"

	"github.com/slack-go/slack"
)

// A Channel is what the platform tells of a channel, apart from its messages.
type Channel struct {
	Member  bool // the bot may post there
	Outside bool // people of another company read it, or were invited to
	Canvas  string
	Tabs    []slack.Tab
}

// Inspect asks the platform about a channel. A channel that is closed to the bot
// is one in which it is not.
func (c *Client) Inspect(ctx context.Context, channel string) (Channel, error) {
	info, err := c.api.GetConversationInfoContext(ctx, &slack.GetConversationInfoInput{ChannelID: channel})
	err = explain("conversations.info", err)
	if errors.Is(err, ErrForbidden) {
		return Channel{}, nil
	}
	if err != nil {
		return Channel{}, err
	}
	g := Channel{Member: info.IsMember, Outside: info.IsExtShared || info.IsPendingExtShared}
	if info.Properties != nil {
		g.Canvas, g.Tabs = info.Properties.Canvas.FileId, info.Properties.Tabs
	}
	return g, nil
}

// InChannel reports whether the bot may post in a channel.
func (c *Client) InChannel(ctx context.Context, channel string) (bool, error) {
	g, err := c.Inspect(ctx, channel)
	return g.Member, err
}
