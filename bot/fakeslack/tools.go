package fakeslack

import (
	"cmp"
	"context"
	"errors"
	"net/http"

	"soundings/bot/fakeslack/wire"
)

// tools is what programs need to find their way in a team that runs: a client
// of the platform with any token, pointed at "api", and two things
// that only people can do.
type tools struct {
	*core
	dir    *directory
	client *Client
	views  *views
	outbox *Outbox
}

// serveRoom says where everything is.
func (tl *tools) serveRoom(rw http.ResponseWriter, r *http.Request) {
	base := "http://"
	if r.TLS != nil {
		base = "https://"
	}
	tl.mu.Lock()
	defer tl.mu.Unlock()
	writeJSON(rw, http.StatusOK, reply{
		"api": base + r.Host + "/api/", "channel": tl.roomChannel(), "bot_user": tl.bot, "people": tl.roomPeople(),
	})
}

// roomChannel is the first channel that the bot is in; "" when there is none.
func (tl *tools) roomChannel() string {
	for _, id := range tl.dir.channelIDs {
		if c := tl.dir.channels[id]; !c.IM && !c.Archived && c.Has(tl.bot) {
			return id
		}
	}
	return ""
}

func (tl *tools) roomPeople() []reply {
	people := []reply{}
	for _, id := range tl.dir.userIDs {
		u := tl.dir.users[id]
		if u.Bot || u.Deleted {
			continue
		}
		people = append(people, reply{"id": u.ID, "name": cmp.Or(u.RealName, u.Name), "zone": u.Zone})
	}
	return people
}

// serveTool answers what a tool asks with what do returns.
func serveTool(do func(r *http.Request, a args) (reply, error)) http.HandlerFunc {
	return func(rw http.ResponseWriter, r *http.Request) {
		a, err := readArgs(rw, r)
		if err != nil {
			writeJSON(rw, http.StatusBadRequest, wire.Failed(err))
			return
		}
		out, err := do(r, a)
		if err != nil {
			refuseTool(rw, err)
			return
		}
		writeJSON(rw, http.StatusOK, wire.Succeeded(out))
	}
}

// trigger gives out a trigger as if user had just pressed something. It opens
// one form within three seconds.
func (tl *tools) trigger(_ *http.Request, a args) (reply, error) {
	tl.mu.Lock()
	defer tl.mu.Unlock()
	u, err := tl.dir.actor(a.str("user"))
	if err != nil {
		return nil, err
	}
	return reply{"trigger_id": tl.views.newTrigger(u.ID)}, nil
}

// say says something as a person, and waits for the app to take it.
// "delivered" is false when it did not; it is then tried again.
func (tl *tools) say(r *http.Request, a args) (reply, error) {
	ts, events, err := tl.saidInRoom(a)
	if err != nil {
		return nil, err
	}
	// The tool may go away; the message stands, so it is delivered all the same.
	err = tl.outbox.send(context.WithoutCancel(r.Context()), events...)
	return reply{"ts": ts, "delivered": err == nil && len(events) > 0}, nil
}

// saidInRoom lets the app hear every message, as one that subscribes to
// messages does, and mentions besides.
func (tl *tools) saidInRoom(a args) (ts string, events []delivery, err error) {
	if a.str("text") == "" {
		return "", nil, wire.Refuse("no_text")
	}
	ts, events, err = tl.client.said(a.str("user"), a.str("channel"), a.str("text"), a.str("thread_ts"))
	if err != nil {
		return "", nil, err
	}
	tl.mu.Lock()
	defer tl.mu.Unlock()
	c := tl.dir.channels[a.str("channel")]
	if m := c.find(ts); m != nil && c.Has(tl.bot) {
		events = append([]delivery{tl.outbox.event(tl.heardJSON(c, m), c.ExtShared)}, events...)
	}
	return ts, events, nil
}

// heardJSON is a message as the event "message" tells of it.
func (tl *tools) heardJSON(c *channel, m *Message) reply {
	out := tl.client.messages.mentionJSON(c, m)
	types := map[string]string{"public_channel": "channel", "private_channel": "group", "im": "im"}
	out["type"], out["channel_type"] = "message", types[c.kind()]
	return out
}

// refuseTool tells a tool what it got wrong.
func refuseTool(rw http.ResponseWriter, err error) {
	status := http.StatusForbidden
	var refusal *wire.Refusal
	switch {
	case errors.As(err, &refusal):
		status = http.StatusBadRequest
	case errors.Is(err, ErrUnknown):
		status = http.StatusNotFound
	}
	writeJSON(rw, status, reply{"ok": false, "error": err.Error()})
}
