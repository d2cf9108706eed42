package fakeslack

import (
	"context"
	"fmt"
)

// Shortcut runs one of the app's shortcuts from the search bar or the plus
// menu: it belongs to no channel and has no response URL.
func (w *Client) Shortcut(ctx context.Context, user, callbackID string) error {
	p, err := w.shortcut(user, callbackID)
	if err != nil {
		return fmt.Errorf("shortcut %s: %w", callbackID, err)
	}
	if _, err := w.outbox.transport.deliver(ctx, p); err != nil {
		return fmt.Errorf("shortcut %s: %w", callbackID, err)
	}
	return nil
}

func (w *Client) shortcut(user, callbackID string) (delivery, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	u, err := w.dir.actor(user)
	if err != nil {
		return delivery{}, err
	}
	if u.Stranger {
		return delivery{}, fmt.Errorf("user %s is of another workspace: %w", user, ErrNotShown)
	}
	payload := w.acted("shortcut", u)
	payload["callback_id"], payload["action_ts"] = callbackID, w.nextTS()
	payload["trigger_id"] = w.views.newTrigger(user)
	return delivery{kind: interactionDelivery, payload: payload}, nil
}

// MessageShortcut runs one of the app's shortcuts on a message.
func (w *Client) MessageShortcut(ctx context.Context, user, channelID, ts, callbackID string) error {
	p, err := w.messageShortcut(user, channelID, ts, callbackID)
	if err != nil {
		return fmt.Errorf("message shortcut %s: %w", callbackID, err)
	}
	if _, err := w.outbox.transport.deliver(ctx, p); err != nil {
		return fmt.Errorf("message shortcut %s: %w", callbackID, err)
	}
	return nil
}

func (w *Client) messageShortcut(user, channelID, ts, callbackID string) (delivery, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	u, c, err := w.dir.member(user, channelID)
	if err != nil {
		return delivery{}, err
	}
	m := c.find(ts)
	if m == nil {
		return delivery{}, fmt.Errorf("message %s in %s: %w", ts, channelID, ErrNotShown)
	}
	payload := w.acted("message_action", u)
	payload["callback_id"], payload["action_ts"] = callbackID, w.nextTS()
	payload["trigger_id"] = w.views.newTrigger(user)
	payload["channel"], payload["message_ts"] = placeJSON(c), m.TS
	payload["message"] = w.messages.messageJSON(c, m, true)
	payload["response_url"] = w.replies.newReplyURL(c.ID, u.ID, m.TS)
	return delivery{kind: interactionDelivery, payload: payload}, nil
}
