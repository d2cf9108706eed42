package fakeslack

import (
	"context"
	"fmt"
	"slices"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// A Channel is a place for messages: a channel, or a private conversation.
type Channel struct {
	ID        string // given by AddChannel
	Name      string // without #; empty for private conversations
	Topic     string
	Private   bool
	Archived  bool
	Deleted   bool     // gone for everybody; only ChangeChannel sets it
	ExtShared bool     // shared with another team
	IM        bool     // the private conversation of the bot and User
	User      string   // the person, of an IM
	Creator   string   // whoever made it
	Members   []string // in the order of joining
	Canvas    string   // id of the channel's canvas, if it has one
	Tabs      []string // ids of further canvases, each in a tab
	Invited   bool     // another team was invited to share it, and has not answered
}

// channel is a Channel with what was said and kept in it.
type channel struct {
	Channel
	messages   []*Message
	revision   int                   // counts what was added and replaced
	ephemerals map[string][]*Message // by the user who sees them
	bookmarks  []*Bookmark
	states     map[stateKey]blockkit.State
}

// stateKey names what one person has chosen in one message.
type stateKey struct{ user, ts string }

// AddChannel opens a channel and returns its id. The bot is in it only if it
// is among the members. No event is delivered.
func (t *Team) AddChannel(c Channel) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.dir.addChannel(c).ID
}

// at is the channel of an id; one with nothing in it where there is none.
func (dir *directory) at(id string) *channel {
	if c, ok := dir.channels[id]; ok {
		return c
	}
	return &channel{}
}

func (dir *directory) addChannel(c Channel) *channel {
	prefix := "C"
	if c.IM {
		prefix = "D"
	}
	c.ID = dir.nextID(prefix)
	c.Members = slices.Clone(c.Members)
	added := &channel{
		Channel:    c,
		ephemerals: map[string][]*Message{},
		states:     map[stateKey]blockkit.State{},
	}
	dir.channels[c.ID] = added
	dir.channelIDs = append(dir.channelIDs, c.ID)
	return added
}

// Channel looks a channel up by id.
func (t *Team) Channel(id string) (Channel, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	c, ok := t.dir.channels[id]
	if !ok {
		return Channel{}, false
	}
	return c.snapshot(), true
}

// Channels lists all channels and private conversations in the order in
// which they were opened.
func (t *Team) Channels() []Channel {
	t.mu.Lock()
	defer t.mu.Unlock()
	out := make([]Channel, 0, len(t.dir.channelIDs))
	for _, id := range t.dir.channelIDs {
		out = append(out, t.dir.channels[id].snapshot())
	}
	return out
}

// DM is the private conversation of the bot and user; it is opened when there
// is none yet.
func (t *Team) DM(user string) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.dir.dm(user).ID
}

func (dir *directory) dm(user string) *channel {
	for _, id := range dir.channelIDs {
		if c := dir.channels[id]; c.IM && c.User == user {
			return c
		}
	}
	return dir.addChannel(Channel{IM: true, Private: true, User: user, Members: []string{user, dir.bot}})
}

func (c *channel) snapshot() Channel {
	out := c.Channel
	out.Members, out.Tabs = slices.Clone(c.Members), slices.Clone(c.Tabs)
	return out
}

// placeFor is a channel that user can see: one they are in, or a public one.
func (dir *directory) placeFor(user, id string) (*channel, error) {
	c, ok := dir.channels[id]
	if !ok {
		return nil, fmt.Errorf("channel %q: %w", id, ErrUnknown)
	}
	u := dir.users[user]
	if !c.Has(user) && (c.Private || u.Guest || u.SingleChannelGuest || u.Stranger) {
		return nil, fmt.Errorf("channel %s is not open to %s: %w", id, user, ErrNotShown)
	}
	return c, nil
}

// channelJSON is the channel as conversations.info shows it. Privacy is told
// by is_private alone, never by the first letter of the id.
func (cv *conversations) channelJSON(c *channel) reply {
	out := reply{
		"id": c.ID, "created": 0, "creator": c.Creator,
		"is_channel": !c.IM, "is_group": false, "is_im": c.IM, "is_mpim": false,
		"is_private": c.Private, "is_archived": c.Archived, "is_general": false,
		"is_shared": c.ExtShared, "is_ext_shared": c.ExtShared, "is_org_shared": false,
		"is_pending_ext_shared": c.Invited,
		"is_member":             c.Has(cv.bot), "num_members": len(c.Members),
		"context_team_id": cv.team, "shared_team_ids": []string{cv.team},
	}
	if c.IM {
		out["user"], out["is_open"] = c.User, true
		return out
	}
	out["name"], out["name_normalized"] = c.Name, c.Name
	out["topic"] = reply{"value": c.Topic, "creator": "", "last_set": 0}
	out["purpose"] = reply{"value": "", "creator": "", "last_set": 0}
	if c.Canvas != "" || len(c.Tabs) > 0 {
		out["properties"] = cv.propertiesJSON(c)
	}
	return out
}

func (cv *conversations) propertiesJSON(c *channel) reply {
	out, tabs := reply{}, []reply{}
	if c.Canvas != "" {
		out["canvas"] = reply{"file_id": c.Canvas, "is_empty": false}
		tabs = append(tabs, reply{"id": "channel_canvas", "label": "", "type": "channel_canvas"})
	}
	for i, id := range c.Tabs {
		tabs = append(tabs, reply{"id": fmt.Sprintf("Ct%08d", i+1), "label": cv.canvases.byID[id].Title, "type": "canvas", "data": reply{"file_id": id}})
	}
	out["tabs"] = tabs
	return out
}

// ChangeChannel changes a channel as people or administrators do, and tells
// the app of it by the events that change returns. change is called with the
// team locked, so it must not ask the team for anything.
func (t *Team) ChangeChannel(ctx context.Context, channelID string, change func(c *Channel) []wire.Object) error {
	events, err := t.changed(channelID, change)
	if err != nil {
		return err
	}
	return t.Outbox.send(ctx, events...)
}

func (t *Team) changed(channelID string, change func(c *Channel) []wire.Object) ([]delivery, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	c, ok := t.dir.channels[channelID]
	if !ok {
		return nil, fmt.Errorf("change channel %q: %w", channelID, ErrUnknown)
	}
	var events []delivery
	for _, inner := range change(&c.Channel) {
		inner["event_ts"] = t.nextTS()
		events = append(events, t.Outbox.event(inner, c.ExtShared))
	}
	if c.Deleted {
		delete(t.dir.channels, c.ID)
		t.dir.channelIDs = slices.DeleteFunc(t.dir.channelIDs, func(id string) bool { return id == c.ID })
	}
	return events, nil
}

// Has reports whether somebody is in the channel.
func (c *Channel) Has(user string) bool { return slices.Contains(c.Members, user) }

// Share lets another team into a channel, or out of it, and tells the app.
func (t *Team) Share(ctx context.Context, channelID string, on bool) error {
	return t.ChangeChannel(ctx, channelID, func(c *Channel) []wire.Object {
		const other = "T0ELSEWHERE"
		before := c.ExtShared
		c.ExtShared, c.Invited = on, c.Invited && before == on
		switch {
		case before == on || !c.Has(t.bot):
			return nil
		case on:
			return []wire.Object{{"type": "channel_shared", "connected_team_id": other, "channel": c.ID}}
		}
		return []wire.Object{{"type": "channel_unshared", "previously_connected_team_id": other, "channel": c.ID, "is_ext_shared": false}}
	})
}
