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
	Purpose   string
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
	ephemerals map[string][]*Message // by the user who sees them
	bookmarks  []*Bookmark
	states     map[stateKey]blockkit.State
}

// stateKey names what one person has chosen in one message.
type stateKey struct{ user, ts string }

// AddChannel opens a channel and returns its id. The bot is in it only if it
// is among the members. No event is delivered.
func (w *Team) AddChannel(c Channel) string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.dir.addChannel(c).ID
}

// at is the channel of an id; one with nothing in it where there is none.
func (w *directory) at(id string) *channel {
	if c, ok := w.channels[id]; ok {
		return c
	}
	return &channel{}
}

func (w *directory) addChannel(c Channel) *channel {
	prefix := "C"
	if c.IM {
		prefix = "D"
	}
	c.ID = w.nextID(prefix)
	c.Members = slices.Clone(c.Members)
	added := &channel{
		Channel:    c,
		ephemerals: map[string][]*Message{},
		states:     map[stateKey]blockkit.State{},
	}
	w.channels[c.ID] = added
	w.channelIDs = append(w.channelIDs, c.ID)
	return added
}

// Channel looks a channel up by id.
func (w *Team) Channel(id string) (Channel, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	c, ok := w.dir.channels[id]
	if !ok {
		return Channel{}, false
	}
	return c.snapshot(), true
}

// Channels lists all channels and private conversations in the order in
// which they were opened.
func (w *Team) Channels() []Channel {
	w.mu.Lock()
	defer w.mu.Unlock()
	out := make([]Channel, 0, len(w.dir.channelIDs))
	for _, id := range w.dir.channelIDs {
		out = append(out, w.dir.channels[id].snapshot())
	}
	return out
}

// DM is the private conversation of the bot and user; it is opened when there
// is none yet.
func (w *Team) DM(user string) string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.dir.dm(user).ID
}

func (w *directory) dm(user string) *channel {
	for _, id := range w.channelIDs {
		if c := w.channels[id]; c.IM && c.User == user {
			return c
		}
	}
	return w.addChannel(Channel{IM: true, Private: true, User: user, Members: []string{user, w.bot}})
}

func (c *channel) snapshot() Channel {
	out := c.Channel
	out.Members, out.Tabs = slices.Clone(c.Members), slices.Clone(c.Tabs)
	return out
}

// placeFor is a channel that user can see: one they are in, or a public one.
func (w *directory) placeFor(user, id string) (*channel, error) {
	c, ok := w.channels[id]
	if !ok {
		return nil, fmt.Errorf("channel %q: %w", id, ErrUnknown)
	}
	u := w.users[user]
	if !c.Has(user) && (c.Private || u.Guest || u.SingleChannelGuest || u.Stranger) {
		return nil, fmt.Errorf("channel %s is not open to %s: %w", id, user, ErrNotShown)
	}
	return c, nil
}

// channelJSON is the channel as conversations.info shows it. Privacy is told
// by is_private alone, never by the first letter of the id.
func (w *conversations) channelJSON(c *channel) reply {
	out := reply{
		"id": c.ID, "created": 0, "creator": c.Creator,
		"is_channel": !c.IM, "is_group": false, "is_im": c.IM, "is_mpim": false,
		"is_private": c.Private, "is_archived": c.Archived, "is_general": false,
		"is_shared": c.ExtShared, "is_ext_shared": c.ExtShared, "is_org_shared": false,
		"is_pending_ext_shared": c.Invited,
		"is_member":             c.Has(w.bot), "num_members": len(c.Members),
		"context_team_id": w.team, "shared_team_ids": []string{w.team},
	}
	if c.IM {
		out["user"], out["is_open"] = c.User, true
		return out
	}
	out["name"], out["name_normalized"] = c.Name, c.Name
	out["topic"] = reply{"value": c.Topic, "creator": "", "last_set": 0}
	out["purpose"] = reply{"value": c.Purpose, "creator": "", "last_set": 0}
	if c.Canvas != "" || len(c.Tabs) > 0 {
		out["properties"] = w.propertiesJSON(c)
	}
	return out
}

func (w *conversations) propertiesJSON(c *channel) reply {
	out, tabs := reply{}, []reply{}
	if c.Canvas != "" {
		out["canvas"] = reply{"file_id": c.Canvas, "is_empty": false}
		tabs = append(tabs, reply{"id": "channel_canvas", "label": "", "type": "channel_canvas"})
	}
	for i, id := range c.Tabs {
		tabs = append(tabs, reply{"id": fmt.Sprintf("Ct%08d", i+1), "label": w.canvases.byID[id].Title, "type": "canvas", "data": reply{"file_id": id}})
	}
	out["tabs"] = tabs
	return out
}

// ChangeChannel changes a channel as people or administrators do, and tells
// the app of it by the events that change returns. change is called with the
// team locked, so it must not ask the team for anything.
func (w *Team) ChangeChannel(ctx context.Context, channelID string, change func(c *Channel) []wire.Object) error {
	events, err := w.changed(channelID, change)
	if err != nil {
		return err
	}
	return w.Outbox.send(ctx, events...)
}

func (w *Team) changed(channelID string, change func(c *Channel) []wire.Object) ([]delivery, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	c, ok := w.dir.channels[channelID]
	if !ok {
		return nil, fmt.Errorf("change channel %q: %w", channelID, ErrUnknown)
	}
	var events []delivery
	for _, inner := range change(&c.Channel) {
		inner["event_ts"] = w.nextTS()
		events = append(events, w.Outbox.event(inner, c.ExtShared))
	}
	if c.Deleted {
		delete(w.dir.channels, c.ID)
		w.dir.channelIDs = slices.DeleteFunc(w.dir.channelIDs, func(id string) bool { return id == c.ID })
	}
	return events, nil
}

// Has reports whether somebody is in the channel.
func (c *Channel) Has(user string) bool { return slices.Contains(c.Members, user) }

// Share lets another team into a channel, or out of it, and tells the app.
func (w *Team) Share(ctx context.Context, channelID string, on bool) error {
	return w.ChangeChannel(ctx, channelID, func(c *Channel) []wire.Object {
		const other = "T0ELSEWHERE"
		before := c.ExtShared
		c.ExtShared, c.Invited = on, c.Invited && before == on
		switch {
		case before == on || !c.Has(w.bot):
			return nil
		case on:
			return []wire.Object{{"type": "channel_shared", "connected_team_id": other, "channel": c.ID}}
		}
		return []wire.Object{{"type": "channel_unshared", "previously_connected_team_id": other, "channel": c.ID, "is_ext_shared": false}}
	})
}
