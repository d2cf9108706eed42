package fakeslack

import (
	"context"
	"fmt"
	"regexp"
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
func (client *Client) Say(ctx context.Context, user, channelID, text, threadTS string) (ts string, err error) {
	ts, events, err := client.said(user, channelID, text, threadTS)
	if err != nil {
		return "", fmt.Errorf("say in %s: %w", channelID, err)
	}
	if err := client.outbox.send(ctx, events...); err != nil {
		return ts, fmt.Errorf("say in %s: %w", channelID, err)
	}
	return ts, nil
}

func (client *Client) said(user, channelID, text, threadTS string) (ts string, events []delivery, err error) {
	client.mu.Lock()
	defer client.mu.Unlock()
	if _, err := client.dir.actor(user); err != nil {
		return "", nil, err
	}
	c, ok := client.dir.channels[channelID]
	switch {
	case !ok:
		return "", nil, fmt.Errorf("channel %q: %w", channelID, ErrUnknown)
	case !c.Has(user):
		return "", nil, fmt.Errorf("%s is not in %s: %w", user, channelID, ErrNotShown)
	case c.Archived:
		return "", nil, fmt.Errorf("%s is archived: %w", channelID, ErrNotShown)
	}
	if parent := c.find(threadTS); threadTS != "" && (parent == nil || parent.InThread()) {
		return "", nil, fmt.Errorf("there is no thread %s in %s: %w", threadTS, channelID, ErrNotShown)
	}
	m := &Message{TS: client.nextTS(), ThreadTS: threadTS, User: user, Text: client.dir.escaped(text)}
	c.add(m)
	if c.IM || !c.Has(client.bot) || !strings.Contains(m.Text, "<@"+client.bot+">") {
		return m.TS, nil, nil
	}
	return m.TS, []delivery{client.outbox.event(client.messages.mentionJSON(c, m), c.ExtShared)}, nil
}

func (ms *messages) mentionJSON(c *channel, m *Message) reply {
	out := reply{
		"type": "app_mention", "user": m.User, "text": m.Text, "ts": m.TS, "event_ts": m.TS,
		"channel": c.ID, "team": ms.team,
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
func (dir *directory) escaped(typed string) string {
	escape := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")
	var out strings.Builder
	at := 0
	for _, span := range mentionToken.FindAllStringIndex(typed, -1) {
		id := typed[span[0]+2 : span[1]-1]
		_, person := dir.users[id]
		_, place := dir.channels[id]
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
func (client *Client) OpenHome(ctx context.Context, user string) error {
	p, err := client.homeOpened(user)
	if err != nil {
		return fmt.Errorf("open home: %w", err)
	}
	return client.outbox.send(ctx, p)
}

func (client *Client) homeOpened(user string) (delivery, error) {
	client.mu.Lock()
	defer client.mu.Unlock()
	if _, err := client.dir.actor(user); err != nil {
		return delivery{}, err
	}
	inner := reply{
		"type": "app_home_opened", "user": user, "channel": client.dir.dm(user).ID, "tab": "home", "event_ts": client.nextTS(),
	}
	if v, ok := client.views.homes[user]; ok {
		inner["view"] = client.views.viewJSON(v, true)
	}
	return client.outbox.event(inner, false), nil
}
