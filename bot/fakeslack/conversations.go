package fakeslack

import (
	"cmp"
	"slices"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// conversations is the Web API's view of channels and of what is said there.
type conversations struct {
	*core
	dir      *directory
	canvases *canvases
	messages *messages
}

func (cv *conversations) info(c *channel, _ args) (reply, error) {
	return reply{"channel": cv.channelJSON(c)}, nil
}

// ofUser lists the conversations that somebody is in, without a user those of
// the bot. Private ones are shown only where the bot is in them as well (from
// memory of the method's page).
func (cv *conversations) ofUser(a args) (reply, error) {
	user := cmp.Or(a.str("user"), cv.bot)
	if _, ok := cv.dir.users[user]; !ok {
		return nil, wire.Refuse("user_not_found")
	}
	types := strings.Split(cmp.Or(a.str("types"), "public_channel"), ",")
	var all []reply
	for _, id := range cv.dir.channelIDs {
		c, err := cv.dir.visible(id)
		if err == nil && c.Has(user) && slices.Contains(types, c.kind()) && !(c.Archived && a.flag("exclude_archived")) {
			all = append(all, cv.channelJSON(c))
		}
	}
	shown, next, err := page(a, all, 100, 999)
	if err != nil {
		return nil, err
	}
	return reply{"channels": shown, "response_metadata": next}, nil
}

// kind is the platform's word for what c is.
func (c *channel) kind() string {
	switch {
	case c.IM:
		return "im"
	case c.Private:
		return "private_channel"
	}
	return "public_channel"
}

// members lists them in the order of joining, bots included, a hundred at a
// time unless told otherwise.
func (cv *conversations) members(c *channel, a args) (reply, error) {
	shown, next, err := page(a, c.Members, 100, 1000)
	if err != nil {
		return nil, err
	}
	return reply{"members": shown, "response_metadata": next}, nil
}

// history gives what stands in the channel itself, newest first, without
// replies.
func (cv *conversations) history(c *channel, a args) (reply, error) {
	var all []*Message
	for _, m := range slices.Backward(c.messages) {
		if !m.InThread() && within(a, m.TS) {
			all = append(all, m)
		}
	}
	return cv.messagePage(c, all, a)
}

// replies gives a thread: its parent, then the replies, oldest
// first. Each page starts with the parent only on the first.
func (cv *conversations) replies(c *channel, a args) (reply, error) {
	parent := c.find(a.str("ts"))
	if parent == nil {
		return nil, wire.Refuse("thread_not_found")
	}
	if parent.InThread() {
		return cv.messagePage(c, []*Message{parent}, a)
	}
	all := []*Message{parent}
	for _, m := range c.replies(parent.TS) {
		if within(a, m.TS) {
			all = append(all, m)
		}
	}
	return cv.messagePage(c, all, a)
}

// within reports whether ts lies in the span asked for. The ends count only
// when inclusive. Timestamps are of one length, so they compare as text.
func within(a args, ts string) bool {
	oldest, latest := a.str("oldest"), a.str("latest")
	if a.flag("inclusive") && (ts == oldest || ts == latest) {
		return true
	}
	return (oldest == "" || oldest == "0" || ts > oldest) && (latest == "" || ts < latest)
}

func (cv *conversations) messagePage(c *channel, all []*Message, a args) (reply, error) {
	shown, next, err := page(a, all, 100, 1000)
	if err != nil {
		return nil, err
	}
	messages := make([]reply, 0, len(shown))
	for _, m := range shown {
		messages = append(messages, cv.messages.messageJSON(c, m, a.flag("include_all_metadata")))
	}
	return reply{
		"messages": messages, "has_more": next["next_cursor"] != "", "pin_count": c.pinned(), "response_metadata": next,
	}, nil
}
