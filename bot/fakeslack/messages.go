package fakeslack

import (
	"cmp"
	"slices"

	"soundings/bot/fakeslack/blockkit"
)

// A Message is one message as it stands now. Blocks are shared between copies
// and must not be changed.
type Message struct {
	Channel     string
	TS          string
	ThreadTS    string // of the parent; also set on a parent that has replies
	User        string
	BotID       string // empty when a person wrote it
	Text        string // escaped, as the platform keeps it
	Blocks      []blockkit.Block
	Metadata    *Metadata
	Edited      *Edited  // nil when never edited in a way that shows
	Files       []string // ids
	Pinned      bool
	EphemeralTo string // the only person who sees it; empty for all others
}

// Metadata is what an app keeps with a message, out of people's sight.
type Metadata struct {
	EventType    string         `json:"event_type"`
	EventPayload map[string]any `json:"event_payload"`
}

// Edited says who changed the text of a message, and when.
type Edited struct{ User, TS string }

// messages is how messages come about and change, and how they are shown.
type messages struct {
	*core
	dir   *directory
	files *files
}

// InThread reports whether m is a reply.
func (m Message) InThread() bool { return m.ThreadTS != "" && m.ThreadTS != m.TS }

// Messages lists what stands in a channel for everybody, threads included,
// oldest first. An unknown channel is empty.
func (t *Team) Messages(channelID string) []Message {
	t.mu.Lock()
	defer t.mu.Unlock()
	return copyMessages(t.dir.at(channelID).messages)
}

// Revision counts the changes of what stands in a channel: as long as it is the
// same, so are the messages.
func (t *Team) Revision(channelID string) int {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.dir.at(channelID).revision
}

// Message looks one message up; ephemeral ones are not among them.
func (t *Team) Message(channelID, ts string) (Message, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if m := t.dir.at(channelID).find(ts); m != nil {
		return *m, true
	}
	return Message{}, false
}

func copyMessages(in []*Message) []Message {
	out := make([]Message, 0, len(in))
	for _, m := range in {
		out = append(out, *m)
	}
	return out
}

func (c *channel) find(ts string) *Message { return findIn(c.messages, ts) }

// findFor also looks among what only user sees.
func (c *channel) findFor(user, ts string) *Message {
	return cmp.Or(c.find(ts), findIn(c.ephemerals[user], ts))
}

func findIn(list []*Message, ts string) *Message {
	// Most lookups are for something recent.
	for _, m := range slices.Backward(list) {
		if m.TS == ts {
			return m
		}
	}
	return nil
}

func (c *channel) replies(parent string) []*Message {
	var out []*Message
	for _, m := range c.messages {
		if m.ThreadTS == parent && m.TS != parent {
			out = append(out, m)
		}
	}
	return out
}

// add puts m at the end of the channel and marks its parent as one.
func (c *channel) add(m *Message) {
	m.Channel = c.ID
	c.revision++
	c.messages = append(c.messages, m)
	if m.InThread() {
		if parent := c.find(m.ThreadTS); parent != nil {
			parent.ThreadTS = parent.TS
		}
	}
}

// replace puts next in the place of m, so that copies handed out before stay
// as they were.
func (c *channel) replace(m *Message, next Message) {
	if m.EphemeralTo != "" {
		c.ephemerals[m.EphemeralTo] = replaceIn(c.ephemerals[m.EphemeralTo], m, &next)
		return
	}
	c.revision++
	c.messages = replaceIn(c.messages, m, &next)
}

func (c *channel) remove(m *Message) {
	c.revision++
	c.messages = slices.DeleteFunc(slices.Clone(c.messages), func(other *Message) bool { return other == m })
}

func replaceIn(list []*Message, old, next *Message) []*Message {
	if i := slices.Index(list, old); i >= 0 {
		list[i] = next
	}
	return list
}

// messageJSON is the message as history and payloads show it.
func (ms *messages) messageJSON(c *channel, m *Message, withMetadata bool) reply {
	out := reply{"type": "message", "ts": m.TS, "user": m.User, "text": m.Text, "team": ms.team}
	if m.BotID != "" {
		out["bot_id"], out["app_id"] = m.BotID, ms.app
		out["bot_profile"] = reply{"id": ms.botID, "app_id": ms.app, "name": ms.cfg.BotName, "team_id": ms.team, "deleted": false, "updated": 0}
	}
	if len(m.Blocks) > 0 {
		out["blocks"] = m.Blocks
	}
	if m.Edited != nil {
		out["edited"] = reply{"user": m.Edited.User, "ts": m.Edited.TS}
	}
	if withMetadata && m.Metadata != nil {
		out["metadata"] = m.Metadata
	}
	if m.Pinned {
		out["pinned_to"] = []string{c.ID}
	}
	if len(m.Files) > 0 {
		out["files"] = ms.files.filesJSON(m.Files)
	}
	threadJSON(c, m, out)
	return out
}

func threadJSON(c *channel, m *Message, out reply) {
	if m.ThreadTS == "" {
		return
	}
	out["thread_ts"] = m.ThreadTS
	if m.InThread() {
		if parent := c.find(m.ThreadTS); parent != nil {
			out["parent_user_id"] = parent.User
		}
		return
	}
	replies := c.replies(m.TS)
	var who []string
	for _, r := range replies {
		if !slices.Contains(who, r.User) {
			who = append(who, r.User)
		}
	}
	out["reply_count"], out["reply_users"], out["reply_users_count"] = len(replies), who, len(who)
	if n := len(replies); n > 0 {
		out["latest_reply"] = replies[n-1].TS
	}
}
