package fakeslack

import (
	"context"
	"fmt"

	"soundings/bot/fakeslack/wire"
)

// CloseView cancels the form that user has open; the one below it shows
// again, unless the form clears them all. The bot hears of it only if the
// form asked for that.
func (w *Client) CloseView(ctx context.Context, user, viewID string) error {
	return w.closeView(ctx, user, viewID, false)
}

// CloseAll closes everything that user has open by the cross in its corner:
// the bot hears of the root, with is_cleared.
func (w *Client) CloseAll(ctx context.Context, user string) error {
	v, ok := w.TopView(user)
	if !ok {
		return fmt.Errorf("close all forms: none is open: %w", ErrNotShown)
	}
	return w.closeView(ctx, user, v.ID, true)
}

func (w *Client) closeView(ctx context.Context, user, viewID string, all bool) error {
	p, tell, err := w.closing(user, viewID, all)
	if err != nil || !tell {
		return err
	}
	if _, err := w.outbox.transport.deliver(ctx, p); err != nil {
		return fmt.Errorf("close %s: %w", viewID, err)
	}
	return nil
}

func (w *Client) closing(user, viewID string, all bool) (p delivery, tell bool, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	u, err := w.dir.actor(user)
	if err != nil {
		return delivery{}, false, err
	}
	v := w.views.top(user)
	if v == nil || v.id != viewID {
		return delivery{}, false, fmt.Errorf("close %s: it is not on top: %w", viewID, ErrNotShown)
	}
	all = all || wire.Flag(v.body, "clear_on_close")
	if all {
		v = w.views.stacks[user][0]
	}
	w.views.closeFrom(v)
	payload := w.acted("view_closed", u)
	payload["view"] = w.views.viewJSON(v, true)
	payload["is_cleared"] = all
	return delivery{kind: interactionDelivery, payload: payload}, wire.Flag(v.body, "notify_on_close"), nil
}
