package fakeslack

import (
	"context"
	"fmt"
)

// Command types a slash command into a channel: command with its slash, text
// as the bot will get it. What the bot answers at once is shown to user.
func (client *Client) Command(ctx context.Context, user, channelID, command, text string) error {
	p, err := client.commanded(user, channelID, command, text)
	if err != nil {
		return fmt.Errorf("command %s: %w", command, err)
	}
	a, err := client.outbox.transport.deliver(ctx, p)
	if err != nil {
		return fmt.Errorf("command %s: %w", command, err)
	}
	if len(a.body) == 0 {
		return nil
	}
	client.mu.Lock()
	defer client.mu.Unlock()
	client.acknowledged("command", a.body)
	if err := client.replies.showCommandAnswer(user, channelID, a.body); err != nil {
		return fmt.Errorf("command %s: the answer: %w: %w", command, err, ErrNoAck)
	}
	return nil
}

// commanded is a command's payload. Only members of the team have the
// app's commands, and never inside a thread.
func (client *Client) commanded(user, channelID, command, text string) (delivery, error) {
	client.mu.Lock()
	defer client.mu.Unlock()
	u, c, err := client.dir.member(user, channelID)
	if err != nil {
		return delivery{}, err
	}
	return delivery{kind: commandDelivery, payload: reply{
		"token": verificationToken, "team_id": client.team, "team_domain": client.domain(), "api_app_id": client.app,
		"channel_id": c.ID, "channel_name": placeJSON(c)["name"], "user_id": u.ID, "user_name": u.Name,
		"command": command, "text": text, "is_enterprise_install": false,
		"response_url": client.replies.newReplyURL(c.ID, u.ID, ""), "trigger_id": client.views.newTrigger(u.ID),
	}}, nil
}

// member is a person of this team, and a channel that they see.
func (dir *directory) member(user, channelID string) (*User, *channel, error) {
	u, err := dir.actor(user)
	if err != nil {
		return nil, nil, err
	}
	if u.Stranger {
		return nil, nil, fmt.Errorf("user %s is of another team: %w", user, ErrNotShown)
	}
	c, err := dir.placeFor(user, channelID)
	if err != nil {
		return nil, nil, err
	}
	return u, c, nil
}

func (rs *replies) showCommandAnswer(user, channelID string, body []byte) error {
	said, err := rs.messages.readContent(answerArgs(body))
	if err != nil || said.empty() {
		return err
	}
	rs.messages.ephemeral(rs.dir.channels[channelID], user, said, "")
	return nil
}

// Shortcut runs one of the app's shortcuts from the search bar or the plus
// menu: it belongs to no channel and has no response URL.
func (client *Client) Shortcut(ctx context.Context, user, callbackID string) error {
	_, err := client.act(ctx, user, "shortcut "+callbackID, "shortcut", func(u *User, payload reply) error {
		if u.Stranger {
			return fmt.Errorf("user %s is of another team: %w", user, ErrNotShown)
		}
		payload["callback_id"], payload["action_ts"] = callbackID, client.nextTS()
		payload["trigger_id"] = client.views.newTrigger(user)
		return nil
	})
	return err
}

// MessageShortcut runs one of the app's shortcuts on a message.
func (client *Client) MessageShortcut(ctx context.Context, user, channelID, ts, callbackID string) error {
	_, err := client.act(ctx, user, "message shortcut "+callbackID, "message_action", func(u *User, payload reply) error {
		_, c, err := client.dir.member(user, channelID)
		if err != nil {
			return err
		}
		m := c.find(ts)
		if m == nil {
			return fmt.Errorf("message %s in %s: %w", ts, channelID, ErrNotShown)
		}
		payload["callback_id"], payload["action_ts"] = callbackID, client.nextTS()
		payload["trigger_id"] = client.views.newTrigger(user)
		payload["channel"], payload["message_ts"] = placeJSON(c), m.TS
		payload["message"] = client.messages.messageJSON(c, m, true)
		payload["response_url"] = client.replies.newReplyURL(c.ID, u.ID, m.TS)
		return nil
	})
	return err
}
