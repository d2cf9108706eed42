package fakeslack

import (
	"slices"

	"soundings/bot/fakeslack/wire"
)

// conversationsHistory gives what stands in the channel itself, newest
// first. Replies are not in it unless they were broadcast.
func (w *conversations) conversationsHistory(a args) (reply, error) {
	c, err := w.dir.joined(a.str("channel"))
	if err != nil {
		return nil, err
	}
	var all []*Message
	for _, m := range slices.Backward(c.messages) {
		if (!m.InThread() || m.Broadcast) && within(a, m.TS) {
			all = append(all, m)
		}
	}
	return w.messagePage(c, all, a)
}

// conversationsReplies gives a thread: its parent, then the replies, oldest
// first. Each page starts with the parent only on the first.
func (w *conversations) conversationsReplies(a args) (reply, error) {
	c, err := w.dir.joined(a.str("channel"))
	if err != nil {
		return nil, err
	}
	parent := c.find(a.str("ts"))
	if parent == nil {
		return nil, wire.Refuse("thread_not_found")
	}
	if parent.InThread() {
		return w.messagePage(c, []*Message{parent}, a)
	}
	all := []*Message{parent}
	for _, m := range c.replies(parent.TS) {
		if within(a, m.TS) {
			all = append(all, m)
		}
	}
	return w.messagePage(c, all, a)
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

func (w *conversations) messagePage(c *channel, all []*Message, a args) (reply, error) {
	from, to, next, err := page(a, len(all), 100, 1000)
	if err != nil {
		return nil, err
	}
	messages := make([]reply, 0, to-from)
	for _, m := range all[from:to] {
		messages = append(messages, w.messages.messageJSON(c, m, a.flag("include_all_metadata")))
	}
	return reply{
		"messages": messages, "has_more": next != "", "pin_count": len(c.pins),
		"response_metadata": nextCursor(next),
	}, nil
}
