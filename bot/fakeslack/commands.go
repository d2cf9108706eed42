package fakeslack

import (
	"context"
	"fmt"
)

// Command types a slash command into a channel: command with its slash, text
// as the bot will get it. What the bot answers at once is shown to user, or
// to all together with the command if it says so.
func (w *Client) Command(ctx context.Context, user, channelID, command, text string) error {
	p, err := w.commanded(user, channelID, command, text)
	if err != nil {
		return fmt.Errorf("command %s: %w", command, err)
	}
	a, err := w.outbox.transport.deliver(ctx, p)
	if err != nil {
		return fmt.Errorf("command %s: %w", command, err)
	}
	if len(a.body) == 0 {
		return nil
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.acknowledged("command", a.body)
	if err := w.replies.showCommandAnswer(user, channelID, command+" "+text, a.body); err != nil {
		return fmt.Errorf("command %s: the answer: %w: %w", command, err, ErrNoAck)
	}
	return nil
}

// commanded is a command's payload. Only members of the team have the
// app's commands, and never inside a thread.
func (w *Client) commanded(user, channelID, command, text string) (delivery, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	u, c, err := w.dir.member(user, channelID)
	if err != nil {
		return delivery{}, err
	}
	return delivery{kind: commandDelivery, payload: reply{
		"token": verificationToken, "team_id": w.team, "team_domain": w.domain(), "api_app_id": w.app,
		"channel_id": c.ID, "channel_name": placeJSON(c)["name"], "user_id": u.ID, "user_name": u.Name,
		"command": command, "text": text, "is_enterprise_install": false,
		"response_url": w.replies.newReplyURL(c.ID, u.ID, ""), "trigger_id": w.views.newTrigger(u.ID),
	}}, nil
}

// member is a person of this team, and a channel that they see.
func (w *directory) member(user, channelID string) (*User, *channel, error) {
	u, err := w.actor(user)
	if err != nil {
		return nil, nil, err
	}
	if u.Stranger {
		return nil, nil, fmt.Errorf("user %s is of another workspace: %w", user, ErrNotShown)
	}
	c, err := w.placeFor(user, channelID)
	if err != nil {
		return nil, nil, err
	}
	return u, c, nil
}

func (w *replies) showCommandAnswer(user, channelID, typed string, body []byte) error {
	a := answerArgs(body)
	said, err := w.messages.readContent(a)
	if err != nil {
		return err
	}
	toAll := a.str("response_type") == "in_channel"
	if said.empty() && !toAll {
		return nil
	}
	c := w.dir.channels[channelID]
	if toAll {
		c.add(&Message{TS: w.nextTS(), User: user, Text: w.dir.escaped(typed)})
	}
	if !said.empty() {
		w.show(c, user, said, toAll, "")
	}
	return nil
}

// Shortcut runs one of the app's shortcuts from the search bar or the plus
// menu: it belongs to no channel and has no response URL.
func (w *Client) Shortcut(ctx context.Context, user, callbackID string) error {
	_, err := w.act(ctx, user, "shortcut "+callbackID, "shortcut", func(u *User, payload reply) error {
		if u.Stranger {
			return fmt.Errorf("user %s is of another workspace: %w", user, ErrNotShown)
		}
		payload["callback_id"], payload["action_ts"] = callbackID, w.nextTS()
		payload["trigger_id"] = w.views.newTrigger(user)
		return nil
	})
	return err
}

// MessageShortcut runs one of the app's shortcuts on a message.
func (w *Client) MessageShortcut(ctx context.Context, user, channelID, ts, callbackID string) error {
	_, err := w.act(ctx, user, "message shortcut "+callbackID, "message_action", func(u *User, payload reply) error {
		_, c, err := w.dir.member(user, channelID)
		if err != nil {
			return err
		}
		m := c.find(ts)
		if m == nil {
			return fmt.Errorf("message %s in %s: %w", ts, channelID, ErrNotShown)
		}
		payload["callback_id"], payload["action_ts"] = callbackID, w.nextTS()
		payload["trigger_id"] = w.views.newTrigger(user)
		payload["channel"], payload["message_ts"] = placeJSON(c), m.TS
		payload["message"] = w.messages.messageJSON(c, m, true)
		payload["response_url"] = w.replies.newReplyURL(c.ID, u.ID, m.TS)
		return nil
	})
	return err
}
