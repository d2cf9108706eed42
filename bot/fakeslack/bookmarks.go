package fakeslack

import (
	"net/url"
	"slices"

	"soundings/bot/fakeslack/wire"
)

// mostBookmarks is how many a channel has room for.
const mostBookmarks = 100

// A Bookmark is a link in a channel's header.
type Bookmark struct {
	ID, Channel        string
	Title, Link, Emoji string
	Created            int64 // Unix seconds
}

// Bookmarks lists those of a channel, in the order of adding.
func (t *Team) Bookmarks(channelID string) []Bookmark {
	t.mu.Lock()
	defer t.mu.Unlock()
	var out []Bookmark
	for _, b := range t.dir.at(channelID).bookmarks {
		out = append(out, *b)
	}
	return out
}

type bookmarks struct{ *core }

func webLink(s string) bool {
	u, err := url.Parse(s)
	return err == nil && (u.Scheme == "http" || u.Scheme == "https") && u.Host != ""
}

func (bs *bookmarks) add(c *channel, a args) (reply, error) {
	switch {
	case a.str("title") == "":
		return nil, wire.Refuse("invalid_arguments", "missing required field: title")
	case a.str("type") != "link":
		return nil, wire.Refuse("invalid_bookmark_type")
	case !webLink(a.str("link")):
		return nil, wire.Refuse("invalid_link")
	case len(c.bookmarks) >= mostBookmarks:
		return nil, wire.Refuse("too_many_bookmarks")
	}
	b := &Bookmark{
		ID: bs.nextID("Bk"), Channel: c.ID, Title: a.str("title"), Link: a.str("link"), Emoji: a.str("emoji"),
		Created: bs.Now().Unix(),
	}
	c.bookmarks = append(c.bookmarks, b)
	return reply{"bookmark": bs.bookmarkJSON(b)}, nil
}

func (bs *bookmarks) remove(c *channel, a args) (reply, error) {
	at := slices.IndexFunc(c.bookmarks, func(b *Bookmark) bool { return b.ID == a.str("bookmark_id") })
	if at < 0 {
		return nil, wire.Refuse("not_found")
	}
	c.bookmarks = slices.Delete(c.bookmarks, at, at+1)
	return nil, nil
}

func (bs *bookmarks) list(c *channel, _ args) (reply, error) {
	out := []reply{}
	for _, b := range c.bookmarks {
		out = append(out, bs.bookmarkJSON(b))
	}
	return reply{"bookmarks": out}, nil
}

func (bs *bookmarks) bookmarkJSON(b *Bookmark) reply {
	return reply{
		"id": b.ID, "channel_id": b.Channel, "title": b.Title, "link": b.Link, "emoji": b.Emoji, "icon_url": "",
		"type": "link", "entity_id": nil, "date_created": b.Created, "date_updated": 0, "rank": "n",
		"last_updated_by_user_id": bs.bot, "last_updated_by_team_id": bs.team, "shortcut_id": nil, "app_id": bs.app,
	}
}
