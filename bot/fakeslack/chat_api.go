package fakeslack

import (
	"strings"
	"unicode/utf8"

	"soundings/bot/fakeslack/wire"
)

// target is where a message goes: a channel by id or name, or a person, who
// gets it in their private conversation with the bot.
func (dir *directory) target(to string) (*channel, error) {
	if u, ok := dir.users[to]; ok {
		switch {
		case u.Deleted:
			return nil, wire.Refuse("channel_not_found")
		case u.Bot:
			return nil, wire.Refuse("cannot_dm_bot")
		}
		return dir.dm(to), nil
	}
	if c, err := dir.visible(to); err == nil {
		return c, nil
	}
	for _, id := range dir.channelIDs {
		if c := dir.channels[id]; c.Name != "" && c.Name == strings.TrimPrefix(to, "#") {
			return dir.visible(id)
		}
	}
	return nil, wire.Refuse("channel_not_found")
}

// visible is a channel that the bot may know of: private ones it is not in
// do not exist for it.
func (dir *directory) visible(id string) (*channel, error) {
	c, ok := dir.channels[id]
	if !ok || (c.Private && !c.Has(dir.bot)) {
		return nil, wire.Refuse("channel_not_found")
	}
	return c, nil
}

// joined is a visible channel that the bot is in.
func (dir *directory) joined(id string) (*channel, error) {
	c, err := dir.visible(id)
	if err != nil {
		return nil, err
	}
	if !c.Has(dir.bot) {
		return nil, wire.Refuse("not_in_channel")
	}
	return c, nil
}

// mayPost refuses channels that the bot is not in, or that are closed.
func (dir *directory) mayPost(c *channel) error {
	switch {
	case c.Archived, c.IM && dir.users[c.User].Deleted:
		return wire.Refuse("is_archived")
	case !c.Has(dir.bot) && !dir.granted("chat:write.public"):
		return wire.Refuse("not_in_channel")
	}
	return nil
}

// threadFor looks up the parent of a reply. A reply's own ts will not do. A
// parent that is gone leaves the reply unthreaded, as slack-go's comment on
// PostMessageWithResponseContext says.
func threadFor(c *channel, ts string) (string, error) {
	if ts == "" {
		return "", nil
	}
	parent := c.find(ts)
	switch {
	case parent == nil:
		return "", nil
	case parent.InThread():
		return "", wire.Refuse("cannot_reply_to_message")
	}
	return ts, nil
}

func (ms *messages) post(c *channel, a args) (reply, error) {
	if err := ms.dir.mayPost(c); err != nil {
		return nil, err
	}
	said, thread, err := ms.toSay(c, a)
	if err != nil {
		return nil, err
	}
	m := ms.newMessage(said)
	m.ThreadTS = thread
	c.add(m)
	return reply{"channel": c.ID, "ts": m.TS, "message": ms.messageJSON(c, m, true)}, nil
}

// toSay is what a call wants to say, and in which thread.
func (ms *messages) toSay(c *channel, a args) (said content, thread string, err error) {
	if said, err = ms.readContent(a); err != nil {
		return content{}, "", err
	}
	if said.empty() {
		return content{}, "", wire.Refuse("no_text")
	}
	thread, err = threadFor(c, a.str("thread_ts"))
	return said, thread, err
}

func (ms *messages) postEphemeral(c *channel, a args) (reply, error) {
	user := a.str("user")
	switch {
	case c.Archived:
		return nil, wire.Refuse("is_archived")
	case !c.Has(user):
		return nil, wire.Refuse("user_not_in_channel")
	}
	said, thread, err := ms.toSay(c, a)
	if err != nil {
		return nil, err
	}
	return reply{"message_ts": ms.ephemeral(c, user, said, thread).TS}, nil
}

// ephemeral shows said to user alone. Such a message is in no history, and
// only the response URL of an act on it can change it.
func (ms *messages) ephemeral(c *channel, user string, said content, thread string) *Message {
	m := ms.newMessage(said)
	m.Channel, m.EphemeralTo, m.ThreadTS = c.ID, user, thread
	c.ephemerals[user] = append(c.ephemerals[user], m)
	return m
}

func (ms *messages) update(c *channel, a args) (reply, error) {
	m := c.find(a.str("ts"))
	switch {
	case m == nil:
		return nil, wire.Refuse("message_not_found")
	case m.User != ms.bot:
		return nil, wire.Refuse("cant_update_message")
	}
	said, err := ms.readContent(a)
	switch {
	case err != nil:
		return nil, err
	case c.Archived:
		return nil, wire.Refuse("is_inactive")
	case utf8.RuneCountInString(said.text) > longestUpdate:
		return nil, wire.Refuse("msg_too_long")
	case said.empty() && !said.hasBlocks && !said.hasMetadata:
		return nil, wire.Refuse("no_text")
	}
	next := ms.applyTo(*m, said)
	c.replace(m, next)
	return reply{"channel": c.ID, "ts": next.TS, "text": next.Text, "message": ms.messageJSON(c, &next, true)}, nil
}

// delete takes a message of the app away; one with a thread leaves a
// placeholder over it.
func (ms *messages) delete(c *channel, a args) (reply, error) {
	m := c.find(a.str("ts"))
	switch {
	case m == nil:
		return nil, wire.Refuse("message_not_found")
	case m.User != ms.bot:
		return nil, wire.Refuse("cant_delete_message")
	case c.Archived:
		return nil, wire.Refuse("is_inactive")
	}
	if m.ThreadTS == m.TS && len(c.replies(m.TS)) > 0 {
		c.replace(m, Message{Channel: m.Channel, TS: m.TS, ThreadTS: m.ThreadTS, User: "USLACKBOT", Text: "This message was deleted."})
	} else {
		c.remove(m)
	}
	return reply{"channel": c.ID, "ts": m.TS}, nil
}

func (ms *messages) permalink(c *channel, a args) (reply, error) {
	m := c.find(a.str("message_ts"))
	if m == nil {
		return nil, wire.Refuse("message_not_found")
	}
	link := ms.siteURL() + "/archives/" + c.ID + "/p" + strings.Replace(m.TS, ".", "", 1)
	if m.InThread() {
		link += "?thread_ts=" + m.ThreadTS + "&cid=" + c.ID
	}
	return reply{"channel": c.ID, "permalink": link}, nil
}
