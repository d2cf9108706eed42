package bot

import (
	"context"
	"errors"
	"slices"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/flows"
)

// A glimpse is what can be seen of a channel from outside its messages.
type glimpse struct {
	Member  bool // the bot may post there
	Outside bool // people of another company read it, or were invited to
	Canvas  string
	Tabs    []slack.Tab
}

// Look asks the platform about a channel. A channel that is closed to the bot
// is one in which it is not.
func (c *Chat) Look(ctx context.Context, channel string) (glimpse, error) {
	info, err := c.api.GetConversationInfoContext(ctx, &slack.GetConversationInfoInput{ChannelID: channel})
	err = explain("conversations.info", err)
	if errors.Is(err, ErrClosedDoor) {
		return glimpse{}, nil
	}
	if err != nil {
		return glimpse{}, err
	}
	g := glimpse{Member: info.IsMember, Outside: info.IsExtShared || info.IsPendingExtShared}
	if info.Properties != nil {
		g.Canvas, g.Tabs = info.Properties.Canvas.FileId, info.Properties.Tabs
	}
	return g, nil
}

// InChannel reports whether the bot may post in a channel.
func (c *Chat) InChannel(ctx context.Context, channel string) (bool, error) {
	g, err := c.Look(ctx, channel)
	return g.Member, err
}

// MakeCanvas makes the channel's canvas. taken says that it cannot be ours:
// the channel has one, of whoever made it, or the plan knows none of the kind.
func (c *Chat) MakeCanvas(ctx context.Context, channel string, page report.CanvasPage) (id string, taken bool, err error) {
	id, err = c.api.CreateChannelCanvasContext(ctx, channel, contentOf(page), slack.CreateChannelCanvasOptionTitle(page.Title))
	if answered(err, "channel_canvas_already_exists", "team_tier_cannot_create_channel_canvases") {
		return "", true, nil
	}
	return id, false, explain("conversations.canvases.create", err)
}

// MakeTab makes a canvas that stands in a tab of the channel.
func (c *Chat) MakeTab(ctx context.Context, channel string, page report.CanvasPage) (id string, err error) {
	id, err = c.api.CreateCanvasContext(ctx, page.Title, contentOf(page), slack.CreateCanvasOptionChannelID(channel))
	return id, explain("canvases.create", err)
}

func contentOf(page report.CanvasPage) slack.DocumentContent {
	return slack.DocumentContent{Type: "markdown", Markdown: page.Markdown}
}

// DrawCanvas replaces what is on a canvas. ErrGone says that there is none of
// that id any more.
func (c *Chat) DrawCanvas(ctx context.Context, id string, page report.CanvasPage) error {
	err := c.api.EditCanvasContext(ctx, slack.EditCanvasParams{CanvasID: id, Changes: []slack.CanvasChange{
		{Operation: "replace", DocumentContent: contentOf(page)}}})
	return explain("canvases.edit", err)
}

// Permalink is the address of a message.
func (c *Chat) Permalink(ctx context.Context, at flows.Posting) (string, error) {
	link, err := c.api.GetPermalinkContext(ctx, &slack.PermalinkParameters{Channel: at.Channel, Ts: at.TS})
	return link, explain("chat.getPermalink", err)
}

// AddBookmark puts a link into a channel's header.
func (c *Chat) AddBookmark(ctx context.Context, channel, title, link string) (id string, err error) {
	b, err := c.api.AddBookmarkContext(ctx, channel, slack.AddBookmarkParameters{Title: title, Type: "link", Link: link})
	return b.ID, explain("bookmarks.add", err)
}

// FindBookmark looks for a link in a channel's header. Without the right to
// read bookmarks it finds none, and a link may stand twice.
func (c *Chat) FindBookmark(ctx context.Context, channel, link string) (id string, err error) {
	all, err := c.api.ListBookmarksContext(ctx, channel)
	for _, b := range all {
		if b.Link == link {
			return b.ID, nil
		}
	}
	return "", unlessUnreadable(explain("bookmarks.list", err))
}

// RemoveBookmark takes a link out of a channel's header.
func (c *Chat) RemoveBookmark(ctx context.Context, channel, id string) error {
	return ignoring(explain("bookmarks.remove", c.api.RemoveBookmarkContext(ctx, channel, id)), "not_found")
}

// answered reports that the platform answered with one of these codes.
func answered(err error, codes ...string) bool {
	var answer slack.SlackErrorResponse
	return errors.As(err, &answer) && slices.Contains(codes, answer.Err)
}

// faultOf is why the platform does not let us have an extra. ok is false where
// that may pass, or where it lets us do nothing at all: neither is worth a
// word to the lead. Source of the codes: the platform's pages on the methods.
func faultOf(err error) (f flows.Fault, ok bool) {
	var answer slack.SlackErrorResponse
	if !errors.As(err, &answer) {
		return "", false
	}
	is := func(codes ...string) bool { return slices.Contains(codes, answer.Err) }
	switch {
	case is("internal_error", "fatal_error", "request_timeout", "service_unavailable", "ratelimited", "team_added_to_org", "org_login_required"):
		return "", false
	case is("missing_scope", "not_allowed_token_type"):
		return flows.FaultScope, true
	case is("canvas_disabled_user_team", "canvas_disabled_file_team", "canvas_globally_disabled", "feature_not_enabled", "not_implemented"):
		return flows.FaultOff, true
	case is("team_tier_cannot_create_channel_canvases", "free_teams_cannot_create_non_tabbed_canvases",
		"free_teams_cannot_create_standalone_canvases", "free_teams_cannot_edit_standalone_canvases"):
		return flows.FaultPlan, true
	case is("free_team_canvas_tab_already_exists", "channel_canvas_already_exists"):
		return flows.FaultTaken, true
	case is("too_many_bookmarks", "too_many_tabs"):
		return flows.FaultFull, true
	case is("restricted_action", "access_denied", "permission_denied", "no_permission", "ekm_access_denied", "enterprise_is_restricted", "team_access_not_granted"):
		return flows.FaultBarred, true
	case errors.Is(err, ErrClosedDoor):
		return "", false
	}
	return flows.FaultRefused, true
}
