package fakeslack

import (
	"context"
	"fmt"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// Type fills in one field of the form that user has open, or of their home
// tab, without submitting. The platform's client checks what may be typed;
// so does this. A zero Value clears the field. A field that acts at once has
// to be pressed instead; one that acts on Enter may be typed into first.
//
// The error wraps ErrNotShown when there is no such field, and is an
// *InputError when the field does not take the value.
func (w *Client) Type(user, viewID, blockID, actionID string, v blockkit.Value) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.typeInto(user, viewID, blockID, actionID, v); err != nil {
		return fmt.Errorf("type into %s: %w", actionID, err)
	}
	return nil
}

func (w *Client) typeInto(user, viewID, blockID, actionID string, v blockkit.Value) error {
	if _, err := w.dir.actor(user); err != nil {
		return err
	}
	form, err := w.views.formBefore(user, viewID)
	if err != nil {
		return err
	}
	p, ok := blockkit.Find(blockkit.Interactive(form.blocks), blockID, actionID)
	switch {
	case !ok:
		return fmt.Errorf("no field %q in block %q: %w", actionID, blockID, ErrNotShown)
	case !p.InInput(), wire.Flag(p.Block, "dispatch_action") && !p.WaitsForEnter():
		return p.Refuse("this one acts at once: press it")
	}
	value, err := p.State(v, w.dir.offers)
	if err != nil {
		return err
	}
	form.state.Put(p, value)
	return nil
}

// formBefore is the form that user sees, or their home tab.
func (w *views) formBefore(user, viewID string) (*view, error) {
	if v := w.top(user); v != nil && v.id == viewID {
		return v, nil
	}
	if v, ok := w.homes[user]; ok && v.id == viewID {
		return v, nil
	}
	return nil, fmt.Errorf("form %s is not on top: %w", viewID, ErrNotShown)
}

// Submit presses the button of the form that user has open, and applies the
// bot's answer: the form closes, changes, gets another on top, or shows
// errors, which are returned by block id.
//
// A required field that is empty is an *InputError, and the bot is not asked.
func (w *Client) Submit(ctx context.Context, user, viewID string) (map[string]string, error) {
	a, err := w.act(ctx, user, "submit "+viewID, "view_submission", func(_ *User, payload reply) error {
		v := w.views.top(user)
		switch {
		case v == nil || v.id != viewID:
			return fmt.Errorf("form %s is not on top: %w", viewID, ErrNotShown)
		case v.body["submit"] == nil:
			return fmt.Errorf("form %s has no button to submit: %w", viewID, ErrNotShown)
		}
		if err := complete(v); err != nil {
			return err
		}
		v.errors = nil
		payload["trigger_id"] = w.views.newTrigger(user)
		payload["view"] = w.views.viewJSON(v, true)
		payload["response_urls"] = w.replies.responseURLs(v)
		return nil
	})
	if err != nil {
		return nil, err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.acknowledged("view_submission", a.body)
	shown, err := w.views.applyAnswer(user, viewID, a.body)
	if err != nil {
		return nil, fmt.Errorf("submit %s: %w", viewID, err)
	}
	return shown, nil
}

// complete refuses a form with an empty field that is not optional, as the
// platform's client does.
func complete(v *view) error {
	for _, p := range blockkit.Interactive(v.blocks) {
		if p.InInput() && !wire.Flag(p.Block, "optional") && blockkit.EmptyValue(v.state.Get(p)) {
			return p.Refuse("this field has to be filled in")
		}
	}
	return nil
}

// responseURLs are only given for channels chosen in a field that asks for
// them.
func (w *replies) responseURLs(v *view) []reply {
	out := []reply{}
	for _, p := range blockkit.Interactive(v.blocks) {
		if !p.InInput() || !wire.Flag(p.Element, "response_url_enabled") {
			continue
		}
		value := v.state.Get(p)
		field, _, _ := blockkit.ValueFields(p.Kind())
		if id := wire.Str(value, field); w.dir.channels[id] != nil {
			out = append(out, reply{
				"block_id": p.BlockID(), "action_id": p.ActionID(), "channel_id": id,
				"response_url": w.newReplyURL(id, v.user, ""),
			})
		}
	}
	return out
}

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
	tell := false
	p, err := w.interaction(user, "view_closed", func(_ *User, payload reply) error {
		v := w.views.top(user)
		if v == nil || v.id != viewID {
			return fmt.Errorf("close %s: it is not on top: %w", viewID, ErrNotShown)
		}
		all = all || wire.Flag(v.body, "clear_on_close")
		if all {
			v = w.views.stacks[user][0]
		}
		w.views.closeFrom(v)
		payload["view"] = w.views.viewJSON(v, true)
		payload["is_cleared"] = all
		tell = wire.Flag(v.body, "notify_on_close")
		return nil
	})
	if err != nil || !tell {
		return err
	}
	if _, err := w.outbox.transport.deliver(ctx, p); err != nil {
		return fmt.Errorf("close %s: %w", viewID, err)
	}
	return nil
}
