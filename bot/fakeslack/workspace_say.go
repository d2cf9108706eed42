package fakeslack

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// Say writes a message as a person, in a thread when threadTS is not empty,
// and returns its ts. <@U…> and <#C…> of people and channels that exist are
// mentions, as a client makes them; all other text is what was typed, and is
// kept escaped.
//
// The bot hears of it only when it is in the channel and is mentioned; the
// error then wraps ErrNoAck if it did not acknowledge. The message stands
// either way.
func (w *Team) Say(ctx context.Context, user, channelID, text, threadTS string) (ts string, err error) {
	ts, events, err := w.said(user, channelID, text, threadTS)
	if err != nil {
		return "", fmt.Errorf("say in %s: %w", channelID, err)
	}
	if err := w.send(ctx, events...); err != nil {
		return ts, fmt.Errorf("say in %s: %w", channelID, err)
	}
	return ts, nil
}

func (w *Team) said(user, channelID, text, threadTS string) (ts string, events []parcel, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if _, err := w.actor(user); err != nil {
		return "", nil, err
	}
	c, ok := w.channels[channelID]
	switch {
	case !ok:
		return "", nil, fmt.Errorf("channel %q: %w", channelID, ErrUnknown)
	case !c.has(user):
		return "", nil, fmt.Errorf("%s is not in %s: %w", user, channelID, ErrNotShown)
	case c.Archived:
		return "", nil, fmt.Errorf("%s is archived: %w", channelID, ErrNotShown)
	}
	if parent := c.find(threadTS); threadTS != "" && (parent == nil || parent.InThread()) {
		return "", nil, fmt.Errorf("there is no thread %s in %s: %w", threadTS, channelID, ErrNotShown)
	}
	m := &Message{TS: w.nextTS(), ThreadTS: threadTS, User: user, Text: w.escaped(text)}
	c.add(m)
	if c.IM || !c.has(w.bot) || !strings.Contains(m.Text, "<@"+w.bot+">") {
		return m.TS, nil, nil
	}
	return m.TS, []parcel{w.event(w.mentionJSON(c, m), c.ExtShared)}, nil
}

func (w *Team) mentionJSON(c *channel, m *Message) reply {
	out := reply{
		"type": "app_mention", "user": m.User, "text": m.Text, "ts": m.TS, "event_ts": m.TS,
		"channel": c.ID, "team": w.team,
	}
	if m.InThread() {
		out["thread_ts"] = m.ThreadTS
	}
	return out
}

// mentionToken is how a client writes the people and channels that somebody
// picked from its list.
var mentionToken = regexp.MustCompile(`<[@#][A-Z][A-Z0-9]{8,}>`)

// escaped keeps mentions of what exists and escapes &, < and > elsewhere, as
// the platform keeps text. Source: the page on formatting text.
func (w *Team) escaped(typed string) string {
	escape := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")
	var out strings.Builder
	at := 0
	for _, span := range mentionToken.FindAllStringIndex(typed, -1) {
		id := typed[span[0]+2 : span[1]-1]
		_, person := w.users[id]
		_, place := w.channels[id]
		if !person && !place {
			continue
		}
		out.WriteString(escape.Replace(typed[at:span[0]]))
		out.WriteString(typed[span[0]:span[1]])
		at = span[1]
	}
	out.WriteString(escape.Replace(typed[at:]))
	return out.String()
}

// OpenHome opens user's home tab: app_home_opened is sent each time, with the
// view only if the bot has published one.
func (w *Team) OpenHome(ctx context.Context, user string) error {
	p, err := w.homeOpened(user)
	if err != nil {
		return fmt.Errorf("open home: %w", err)
	}
	return w.send(ctx, p)
}

func (w *Team) homeOpened(user string) (parcel, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if _, err := w.actor(user); err != nil {
		return parcel{}, err
	}
	inner := reply{
		"type": "app_home_opened", "user": user, "channel": w.dm(user).ID, "tab": "home", "event_ts": w.nextTS(),
	}
	if v, ok := w.homes[user]; ok {
		inner["view"] = w.viewJSON(v, true)
	}
	return w.event(inner, false), nil
}

// Invite brings users into a channel. by is in it already; empty when they
// joined by themselves. The bot hears of each, itself included, if it is in
// the channel.
func (w *Team) Invite(ctx context.Context, by, channelID string, users ...string) error {
	events, err := w.invited(by, channelID, users)
	if err != nil {
		return fmt.Errorf("invite to %s: %w", channelID, err)
	}
	return w.send(ctx, events...)
}

func (w *Team) invited(by, channelID string, users []string) ([]parcel, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	c, ok := w.channels[channelID]
	if !ok {
		return nil, fmt.Errorf("channel %q: %w", channelID, ErrUnknown)
	}
	var events []parcel
	for _, id := range users {
		if u, ok := w.users[id]; !ok || u.Deleted {
			return nil, fmt.Errorf("user %q: %w", id, ErrUnknown)
		}
		if c.has(id) {
			continue
		}
		c.Members = append(c.Members, id)
		if c.has(w.bot) {
			events = append(events, w.membership("member_joined_channel", c, id, by))
		}
	}
	return events, nil
}

// Leave takes user out of a channel; the bot hears of it if it is in there. When
// it is the bot itself that was taken out, it hears that it has left: of its own
// leaving as a member the platform does not tell it.
func (w *Team) Leave(ctx context.Context, channelID, user string) error {
	events, err := w.left(channelID, user)
	if err != nil {
		return fmt.Errorf("leave %s: %w", channelID, err)
	}
	return w.send(ctx, events...)
}

func (w *Team) left(channelID, user string) ([]parcel, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	c, ok := w.channels[channelID]
	if !ok || !c.has(user) {
		return nil, fmt.Errorf("user %q in channel %q: %w", user, channelID, ErrUnknown)
	}
	tell := c.has(w.bot)
	c.Members = slices.DeleteFunc(c.Members, func(id string) bool { return id == user })
	if !tell {
		return nil, nil
	}
	if user == w.bot {
		return []parcel{w.event(reply{"type": ofKind(c, "left"), "channel": c.ID, "event_ts": w.nextTS()}, c.ExtShared)}, nil
	}
	return []parcel{w.membership("member_left_channel", c, user, "")}, nil
}

func (w *Team) membership(kind string, c *channel, user, by string) parcel {
	letter := "C"
	if c.Private {
		letter = "G"
	}
	inner := reply{
		"type": kind, "user": user, "channel": c.ID, "channel_type": letter, "team": w.team, "event_ts": w.nextTS(),
	}
	if by != "" {
		inner["inviter"] = by
	}
	return w.event(inner, c.ExtShared)
}
