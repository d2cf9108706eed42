package fakeslack

import "soundings/bot/fakeslack/wire"

// mostPins is how many messages one channel keeps pinned.
const mostPins = 100

// pin pins a message in its channel, or unpins it.
func pin(on bool) func(*channel, args) (reply, error) {
	return func(c *channel, a args) (reply, error) {
		ts := a.str("timestamp")
		m := c.find(ts)
		switch {
		case ts == "":
			return nil, wire.Refuse("no_item_specified")
		case m == nil:
			return nil, wire.Refuse("message_not_found")
		case on && m.Pinned:
			return nil, wire.Refuse("already_pinned")
		case on && c.pinned() >= mostPins:
			return nil, wire.Refuse("too_many_pins")
		case !on && !m.Pinned:
			return nil, wire.Refuse("no_pin")
		}
		m.Pinned = on
		return nil, nil
	}
}

// pinned counts the pinned messages of a channel.
func (c *channel) pinned() int {
	n := 0
	for _, m := range c.messages {
		if m.Pinned {
			n++
		}
	}
	return n
}
