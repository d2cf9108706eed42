package fakeslack

import (
	"context"
	"fmt"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// Type fills in one field of the form that user has open, or of their home
// tab, without submitting. The platform's client checks what may be typed;
// so does this. A zero Value clears the field. What is no field acts at once,
// and has to be pressed instead.
//
// The error wraps ErrNotShown when there is no such field, and is an
// *InputError when the field does not take the value.
func (client *Client) Type(user, viewID, blockID, actionID string, v blockkit.Value) error {
	client.mu.Lock()
	defer client.mu.Unlock()
	if err := client.typeInto(user, viewID, blockID, actionID, v); err != nil {
		return fmt.Errorf("type into %s: %w", actionID, err)
	}
	return nil
}

func (client *Client) typeInto(user, viewID, blockID, actionID string, v blockkit.Value) error {
	if _, err := client.dir.actor(user); err != nil {
		return err
	}
	form, err := client.views.formBefore(user, viewID)
	if err != nil {
		return err
	}
	p, ok := blockkit.Find(blockkit.Interactive(form.blocks), blockID, actionID)
	switch {
	case !ok:
		return fmt.Errorf("no field %q in block %q: %w", actionID, blockID, ErrNotShown)
	case !p.InInput():
		return p.Refuse("this one acts at once: press it")
	}
	value, err := p.State(v, client.dir.offers)
	if err != nil {
		return err
	}
	form.state.Put(p, value)
	return nil
}

// formBefore is the form that user sees, or their home tab.
func (vs *views) formBefore(user, viewID string) (*view, error) {
	if v := vs.top(user); v != nil && v.id == viewID {
		return v, nil
	}
	if v, ok := vs.homes[user]; ok && v.id == viewID {
		return v, nil
	}
	return nil, fmt.Errorf("form %s is not on top: %w", viewID, ErrNotShown)
}

// Submit presses the button of the form that user has open, and applies the
// bot's answer: the form closes, changes, gets another on top, or shows
// errors, which are returned by block id.
//
// A required field that is empty is an *InputError, and the bot is not asked.
func (client *Client) Submit(ctx context.Context, user, viewID string) (map[string]string, error) {
	a, err := client.act(ctx, user, "submit "+viewID, "view_submission", func(_ *User, payload reply) error {
		v := client.views.top(user)
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
		payload["trigger_id"] = client.views.newTrigger(user)
		payload["view"] = client.views.viewJSON(v, true)
		payload["response_urls"] = []reply{}
		return nil
	})
	if err != nil {
		return nil, err
	}
	client.mu.Lock()
	defer client.mu.Unlock()
	client.acknowledged("view_submission", a.body)
	shown, err := client.views.applyAnswer(user, viewID, a.body)
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

// CloseView cancels the form that user has open; the one below it shows again.
func (client *Client) CloseView(user, viewID string) error {
	client.mu.Lock()
	defer client.mu.Unlock()
	v := client.views.top(user)
	if v == nil || v.id != viewID {
		return fmt.Errorf("close %s: it is not on top: %w", viewID, ErrNotShown)
	}
	client.views.closeFrom(v)
	return nil
}

// CloseAll closes everything that user has open by the cross in its corner.
func (client *Client) CloseAll(user string) error {
	client.mu.Lock()
	defer client.mu.Unlock()
	if client.views.top(user) == nil {
		return fmt.Errorf("close all forms: none is open: %w", ErrNotShown)
	}
	client.views.closeAll(user)
	return nil
}
