package fakeslack

import (
	"context"
	"fmt"

	"soundings/bot/fakeslack/blockkit"
)

// Where says where an element stands: in a message, in an open form, or on
// the person's own home tab. Only one of the three is filled in.
type Where struct {
	Channel, TS string
	ViewID      string
	Home        bool
}

// Press does what a person does to an element outside a form's own fields: it
// presses a button, chooses from a menu, ticks a box or picks a date. blockID
// may be empty where the action id tells enough. A question "are you sure?" is
// answered with yes.
//
// The error wraps ErrNotShown when the person does not see such an element,
// is an *InputError when it does not take the value, and wraps ErrNoAck when
// the bot did not acknowledge.
func (client *Client) Press(ctx context.Context, user string, at Where, actionID, blockID string, v blockkit.Value) error {
	_, err := client.act(ctx, user, "press "+actionID, "block_actions", func(u *User, payload reply) error {
		s, err := client.surfaceAt(u, at)
		if err != nil {
			return err
		}
		el, ok := blockkit.Find(blockkit.Interactive(s.blocks), blockID, actionID)
		switch {
		case !ok, !el.VisibleTo(user):
			return fmt.Errorf("no element %q in block %q: %w", actionID, blockID, ErrNotShown)
		case el.InInput():
			return el.Refuse("this field waits for the form's button: type into it and submit")
		}
		action, err := el.Action(s.state, v, client.dir.offers)
		if err != nil {
			return err
		}
		action["action_ts"] = client.nextTS()
		payload["trigger_id"] = client.views.newTrigger(user)
		payload["actions"] = []reply{action}
		s.describe(payload)
		return nil
	})
	return err
}

// A pressable is what a person has before them: its blocks, what they have
// chosen in it, and how a payload tells of it.
type pressable struct {
	blocks   []blockkit.Block
	state    blockkit.State
	describe func(payload reply)
}

func (client *Client) surfaceAt(u *User, at Where) (pressable, error) {
	switch {
	case at.ViewID != "":
		v := client.views.top(u.ID)
		if v == nil || v.id != at.ViewID {
			return pressable{}, fmt.Errorf("form %s is not on top: %w", at.ViewID, ErrNotShown)
		}
		return client.viewSurface(v), nil
	case at.Home:
		v, ok := client.views.homes[u.ID]
		if !ok {
			return pressable{}, fmt.Errorf("there is no home tab yet: %w", ErrNotShown)
		}
		return client.viewSurface(v), nil
	}
	return client.messageSurface(u, at)
}

func (client *Client) viewSurface(v *view) pressable {
	return pressable{blocks: v.blocks, state: v.state, describe: func(payload reply) {
		payload["container"] = reply{"type": "view", "view_id": v.id}
		payload["view"] = client.views.viewJSON(v, true)
	}}
}

func (client *Client) messageSurface(u *User, at Where) (pressable, error) {
	c, err := client.dir.placeFor(u.ID, at.Channel)
	if err != nil {
		return pressable{}, err
	}
	m := c.findFor(u.ID, at.TS)
	if m == nil {
		return pressable{}, fmt.Errorf("message %s in %s: %w", at.TS, at.Channel, ErrNotShown)
	}
	key := stateKey{user: u.ID, ts: m.TS}
	state := blockkit.CarriedOver(c.states[key], m.Blocks)
	c.states[key] = state
	return pressable{blocks: m.Blocks, state: state, describe: func(payload reply) {
		client.describeMessage(payload, u, c, m, state)
	}}, nil
}

// describeMessage tells of the message that was acted on. An ephemeral one is
// named but not included (from memory: it is stored nowhere).
func (client *Client) describeMessage(payload reply, u *User, c *channel, m *Message, state blockkit.State) {
	container := reply{
		"type": "message", "message_ts": m.TS, "channel_id": c.ID, "is_ephemeral": m.EphemeralTo != "",
	}
	if m.InThread() {
		container["thread_ts"] = m.ThreadTS
	}
	payload["container"] = container
	payload["channel"] = placeJSON(c)
	payload["state"] = reply{"values": state.Clone()}
	payload["response_url"] = client.replies.newReplyURL(c.ID, u.ID, m.TS)
	if m.EphemeralTo == "" {
		payload["message"] = client.messages.messageJSON(c, m, true)
	}
}

// Chosen is what user has chosen in the controls of a message.
func (client *Client) Chosen(user string, m Message) blockkit.State {
	client.mu.Lock()
	defer client.mu.Unlock()
	return blockkit.CarriedOver(client.dir.at(m.Channel).states[stateKey{user: user, ts: m.TS}], m.Blocks)
}
