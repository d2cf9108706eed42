package fakeslack

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// viewsOpen opens a form. One that is open already gives way to it, without
// a view_closed: what the platform does there is not documented, and no bot
// of ours should rely on it.
func (w *views) viewsOpen(a args) (reply, error) { return w.openFor(a, true) }

// viewsPush lays a form on top of the one whose press gave the trigger.
func (w *views) viewsPush(a args) (reply, error) { return w.openFor(a, false) }

func (w *views) openFor(a args, alone bool) (reply, error) {
	body, blocks, err := blockkit.CheckView(a.values["view"], "modal", w.files.uploadedFile)
	if err != nil {
		return nil, err
	}
	t, err := w.exchange(a.str("trigger_id"))
	if err != nil {
		return nil, err
	}
	if !alone && w.top(t.user) == nil {
		return nil, wire.Refuse("not_found")
	}
	v, err := w.open(t.user, body, blocks, alone)
	if err != nil {
		return nil, err
	}
	return reply{"view": w.viewJSON(v, false)}, nil
}

func (w *views) viewsUpdate(a args) (reply, error) {
	v, err := w.namedView(a)
	if err != nil {
		return nil, err
	}
	body, blocks, err := blockkit.CheckView(a.values["view"], v.kind, w.files.uploadedFile)
	if err != nil {
		return nil, err
	}
	if hash := a.str("hash"); hash != "" && hash != v.hash {
		return nil, wire.Refuse("hash_conflict")
	}
	if err := w.renew(v, body, blocks); err != nil {
		return nil, err
	}
	return reply{"view": w.viewJSON(v, true)}, nil
}

// namedView finds an open view by its id or by the bot's own.
func (w *views) namedView(a args) (*view, error) {
	id, external := a.str("view_id"), a.str("external_id")
	switch {
	case id != "" && external != "":
		return nil, wire.Refuse("invalid_arguments", "Cannot provide both `view_id` and `external_id`")
	case id == "" && external == "":
		return nil, wire.Refuse("invalid_arguments", "either `view_id` or `external_id` is required")
	case id != "":
		if v, ok := w.byID[id]; ok {
			return v, nil
		}
	default:
		if v := w.byExternalID(external); v != nil {
			return v, nil
		}
	}
	return nil, wire.Refuse("not_found")
}

// viewsPublish sets somebody's home tab. Its id stays the same.
func (w *views) viewsPublish(a args) (reply, error) {
	u, ok := w.dir.users[a.str("user_id")]
	if !ok || u.Bot || u.Deleted {
		return nil, wire.Refuse("invalid_arguments", "invalid user_id")
	}
	body, blocks, err := blockkit.CheckView(a.values["view"], "home", w.files.uploadedFile)
	if err != nil {
		return nil, err
	}
	v, published := w.homes[u.ID]
	hash := a.str("hash")
	switch {
	case published && hash != "" && hash != v.hash:
		return nil, wire.Refuse("hash_conflict")
	case published:
		err = w.renew(v, body, blocks)
	default:
		v, err = w.newView(u.ID, "home", body, blocks)
	}
	if err != nil {
		return nil, err
	}
	w.homes[u.ID] = v
	return reply{"view": w.viewJSON(v, true)}, nil
}

// applyAnswer does with a submitted form what the bot's answer says. An
// answer that the platform would not understand is an error: the person would
// be told that there was some trouble connecting.
func (w *views) applyAnswer(user, viewID string, body []byte) (map[string]string, error) {
	v := w.byID[viewID]
	if len(strings.TrimSpace(string(body))) == 0 {
		if v != nil {
			w.closeFrom(v)
		}
		return nil, nil
	}
	decoded, err := wire.Decode(body)
	if err != nil {
		return nil, fmt.Errorf("the answer is neither empty nor JSON: %w", ErrNoAck)
	}
	o, _ := decoded.(map[string]any)
	switch action := wire.Str(o, "response_action"); action {
	case "errors":
		return showErrors(v, wire.Obj(o, "errors"))
	case "clear":
		w.closeAll(user)
		return nil, nil
	case "update", "push":
		return nil, w.answerView(v, user, action, o["view"])
	default:
		return nil, fmt.Errorf("the answer's response_action is %q: %w", action, ErrNoAck)
	}
}

// showErrors wants every error at an input block of the form.
func showErrors(v *view, errs map[string]any) (map[string]string, error) {
	if v == nil {
		return nil, fmt.Errorf("errors for a form that is closed: %w", ErrNoAck)
	}
	if len(errs) == 0 {
		return nil, fmt.Errorf("an answer of errors without any: %w", ErrNoAck)
	}
	shown := map[string]string{}
	for _, id := range slices.Sorted(maps.Keys(errs)) {
		words, ok := errs[id].(string)
		if !ok || words == "" || !hasInput(v.blocks, id) {
			return nil, fmt.Errorf("an error at %q, which is no input block: %w", id, ErrNoAck)
		}
		shown[id] = words
	}
	v.errors = shown
	return maps.Clone(shown), nil
}

func hasInput(blocks []blockkit.Block, id string) bool {
	return slices.ContainsFunc(blocks, func(b blockkit.Block) bool {
		return wire.Str(b, "type") == "input" && wire.Str(b, "block_id") == id
	})
}

// answerView shows another view: in the place of v, or on top of what user has
// open.
func (w *views) answerView(v *view, user, action string, next any) error {
	body, blocks, err := blockkit.CheckView(next, "modal", w.files.uploadedFile)
	switch {
	case err != nil:
	case action == "push":
		_, err = w.open(user, body, blocks, false)
	case v != nil: // else it was closed meanwhile, and there is nothing to update
		err = w.renew(v, body, blocks)
	}
	if err != nil {
		return fmt.Errorf("the answer's view: %w: %w", err, ErrNoAck)
	}
	return nil
}
