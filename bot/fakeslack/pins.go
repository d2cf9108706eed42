package fakeslack

import (
	"slices"

	"soundings/bot/fakeslack/wire"
)

// mostPins is how many things one channel keeps pinned.
const mostPins = 100

// A pin keeps a message at hand for everybody in the channel.
type pin struct {
	ts, by  string
	created int64 // Unix seconds
}

type pins struct {
	*core
	messages *messages
}

// pinnable finds the message that a call wants pinned or unpinned.
func pinnable(c *channel, a args) (*Message, error) {
	ts := a.str("timestamp")
	if ts == "" {
		return nil, wire.Refuse("no_item_specified")
	}
	m := c.find(ts)
	switch {
	case m == nil:
		return nil, wire.Refuse("message_not_found")
	case m.Subtype == "tombstone":
		return nil, wire.Refuse("not_pinnable")
	}
	return m, nil
}

func (w *pins) add(c *channel, a args) (reply, error) {
	m, err := pinnable(c, a)
	switch {
	case err != nil:
		return nil, err
	case m.Pinned:
		return nil, wire.Refuse("already_pinned")
	case len(c.pins) >= mostPins:
		return nil, wire.Refuse("too_many_pins")
	}
	m.Pinned = true
	c.pins = append(c.pins, pin{ts: m.TS, by: w.bot, created: w.Now().Unix()})
	return nil, nil
}

func (w *pins) remove(c *channel, a args) (reply, error) {
	m, err := pinnable(c, a)
	switch {
	case err != nil:
		return nil, err
	case !m.Pinned:
		return nil, wire.Refuse("no_pin")
	}
	m.Pinned = false
	c.pins = slices.DeleteFunc(c.pins, func(p pin) bool { return p.ts == m.TS })
	return nil, nil
}

func (w *pins) list(c *channel, _ args) (reply, error) {
	items := []reply{}
	for _, p := range slices.Backward(c.pins) {
		if m := c.find(p.ts); m != nil {
			items = append(items, reply{
				"type": "message", "channel": c.ID, "created": p.created, "created_by": p.by,
				"message": w.messages.messageJSON(c, m, false),
			})
		}
	}
	return reply{"items": items}, nil
}
