package fakeslack

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// A Client is the platform's own client: what people do with it, and what they
// see. Whoever acts finds buttons and fields in what the bot has sent.
type Client struct {
	*core
	dir      *directory
	messages *messages
	views    *views
	replies  *replies
	outbox   *Outbox

	// OnAck is handed every acknowledgement that says something. It is set
	// before anybody acts, and must not ask the team for anything.
	OnAck func(Ack)
}

// An Ack is what the bot said in the acknowledgement of a form or a command:
// no Web API call, but a payload all the same.
type Ack struct {
	Kind string // "view_submission" or "command"
	Body any    // decoded JSON
}

// acknowledged is called with mu held.
func (client *Client) acknowledged(kind string, body []byte) {
	if client.OnAck == nil || strings.TrimSpace(string(body)) == "" {
		return
	}
	if decoded, err := wire.Decode(body); err == nil { // what is none is refused where it is applied
		client.OnAck(Ack{Kind: kind, Body: decoded})
	}
}

// act lets user do what the bot hears of at once. payload says it in the words
// of its kind, and is called with the team locked.
func (client *Client) act(ctx context.Context, user, what, kind string, payload func(*User, reply) error) (answer, error) {
	p, err := client.interaction(user, kind, payload)
	if err != nil {
		return answer{}, fmt.Errorf("%s: %w", what, err)
	}
	a, err := client.outbox.transport.deliver(ctx, p)
	if err != nil {
		return answer{}, fmt.Errorf("%s: %w", what, err)
	}
	return a, nil
}

func (client *Client) interaction(user, kind string, payload func(*User, reply) error) (delivery, error) {
	client.mu.Lock()
	defer client.mu.Unlock()
	u, err := client.dir.actor(user)
	if err != nil {
		return delivery{}, err
	}
	// What every interaction says about who acted and where.
	said := reply{
		"type": kind, "token": verificationToken, "api_app_id": client.app,
		"team":       reply{"id": client.team, "domain": client.domain()},
		"user":       reply{"id": u.ID, "username": u.Name, "name": u.Name, "team_id": u.Team},
		"enterprise": nil, "is_enterprise_install": false,
	}
	return delivery{kind: interactionDelivery, payload: said}, payload(u, said)
}

// verificationToken stands in a field that the platform still fills and that
// no one should trust: requests are verified by their signature.
const verificationToken = "rehearsal"

// placeJSON names a channel in a payload; private conversations have a stock
// name.
func placeJSON(c *channel) reply {
	stock := map[string]string{"im": "directmessage", "private_channel": "privategroup"}
	return reply{"id": c.ID, "name": cmp.Or(stock[c.kind()], c.Name)}
}

// Seen lists everything user sees in a channel, oldest first.
func (client *Client) Seen(channelID, user string) []Message {
	client.mu.Lock()
	defer client.mu.Unlock()
	c := client.dir.at(channelID)
	out := copyMessages(slices.Concat(c.messages, c.ephemerals[user]))
	slices.SortFunc(out, func(a, b Message) int { return strings.Compare(a.TS, b.TS) })
	return out
}

// Views lists the forms open before user, root first; they see the last.
func (client *Client) Views(user string) []View {
	client.mu.Lock()
	defer client.mu.Unlock()
	out := make([]View, 0, len(client.views.stacks[user]))
	for _, v := range client.views.stacks[user] {
		out = append(out, v.snapshot())
	}
	return out
}

// TopView is the form that user looks at.
func (client *Client) TopView(user string) (View, bool) {
	client.mu.Lock()
	defer client.mu.Unlock()
	if v := client.views.top(user); v != nil {
		return v.snapshot(), true
	}
	return View{}, false
}

// Home is user's home tab, once the bot has published one.
func (client *Client) Home(user string) (View, bool) {
	client.mu.Lock()
	defer client.mu.Unlock()
	v, ok := client.views.homes[user]
	if !ok {
		return View{}, false
	}
	return v.snapshot(), true
}
