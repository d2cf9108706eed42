package chat

import (
	"context"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/flows/state"
)

// MakeCanvas makes the channel's canvas. taken says that it cannot be ours:
// the channel has one, of whoever made it, or the plan knows none of the kind.
func (c *Client) MakeCanvas(ctx context.Context, channel string, page report.CanvasPage) (id string, taken bool, err error) {
	id, err = c.api.CreateChannelCanvasContext(ctx, channel, contentOf(page), slack.CreateChannelCanvasOptionTitle(page.Title))
	if Refused(err, "channel_canvas_already_exists", "team_tier_cannot_create_channel_canvases") {
		return "", true, nil
	}
	return id, false, explain("conversations.canvases.create", err)
}

// MakeTab makes a canvas that stands in a tab of the channel.
func (c *Client) MakeTab(ctx context.Context, channel string, page report.CanvasPage) (id string, err error) {
	id, err = c.api.CreateCanvasContext(ctx, page.Title, contentOf(page), slack.CreateCanvasOptionChannelID(channel))
	return id, explain("canvases.create", err)
}

func contentOf(page report.CanvasPage) slack.DocumentContent {
	return slack.DocumentContent{Type: "markdown", Markdown: page.Markdown}
}

// ReplaceCanvas replaces what is on a canvas. ErrGone says that there is none of
// that id any more.
func (c *Client) ReplaceCanvas(ctx context.Context, id string, page report.CanvasPage) error {
	err := c.api.EditCanvasContext(ctx, slack.EditCanvasParams{CanvasID: id, Changes: []slack.CanvasChange{
		{Operation: "replace", DocumentContent: contentOf(page)}}})
	return explain("canvases.edit", err)
}

// Permalink is the address of a message.
func (c *Client) Permalink(ctx context.Context, at state.Posting) (string, error) {
	link, err := c.api.GetPermalinkContext(ctx, &slack.PermalinkParameters{Channel: at.Channel, Ts: at.TS})
	return link, explain("chat.getPermalink", err)
}

// AddBookmark puts a link into a channel's header.
func (c *Client) AddBookmark(ctx context.Context, channel, title, link string) (id string, err error) {
	b, err := c.api.AddBookmarkContext(ctx, channel, slack.AddBookmarkParameters{Title: title, Type: "link", Link: link})
	return b.ID, explain("bookmarks.add", err)
}

// FindBookmark looks for a link in a channel's header. Without the right to
// read bookmarks it finds none, and a link may stand twice.
func (c *Client) FindBookmark(ctx context.Context, channel, link string) (id string, err error) {
	all, err := c.api.ListBookmarksContext(ctx, channel)
	for _, b := range all {
		if b.Link == link {
			return b.ID, nil
		}
	}
	return "", unlessUnreadable(explain("bookmarks.list", err))
}

// RemoveBookmark takes a link out of a channel's header.
func (c *Client) RemoveBookmark(ctx context.Context, channel, id string) error {
	return unlessRefused(explain("bookmarks.remove", c.api.RemoveBookmarkContext(ctx, channel, id)), "not_found")
}
