package fakeslack

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// viewsOpen opens a form. One that is open already gives way to it: what the
// platform does there is not documented, and no bot of ours should rely on it.
func (vs *views) viewsOpen(a args) (reply, error) { return vs.openFor(a, true) }

// viewsPush lays a form on top of the one whose press gave the trigger.
func (vs *views) viewsPush(a args) (reply, error) { return vs.openFor(a, false) }

func (vs *views) openFor(a args, alone bool) (reply, error) {
	body, blocks, err := blockkit.CheckView(a.values["view"], "modal", vs.files.showable)
	if err != nil {
		return nil, err
	}
	t, err := vs.exchange(a.str("trigger_id"))
	if err != nil {
		return nil, err
	}
	if !alone && vs.top(t.user) == nil {
		return nil, wire.Refuse("not_found")
	}
	v, err := vs.open(t.user, body, blocks, alone)
	if err != nil {
		return nil, err
	}
	return reply{"view": vs.viewJSON(v, false)}, nil
}

func (vs *views) viewsUpdate(a args) (reply, error) {
	v, ok := vs.byID[a.str("view_id")]
	if !ok {
		return nil, wire.Refuse("not_found")
	}
	body, blocks, err := blockkit.CheckView(a.values["view"], v.kind, vs.files.showable)
	if err != nil {
		return nil, err
	}
	if hash := a.str("hash"); hash != "" && hash != v.hash {
		return nil, wire.Refuse("hash_conflict")
	}
	vs.renew(v, body, blocks)
	return reply{"view": vs.viewJSON(v, true)}, nil
}

// viewsPublish sets somebody's home tab. Its id stays the same.
func (vs *views) viewsPublish(a args) (reply, error) {
	u, ok := vs.dir.users[a.str("user_id")]
	if !ok || u.Bot || u.Deleted {
		return nil, wire.Refuse("invalid_arguments", "invalid user_id")
	}
	body, blocks, err := blockkit.CheckView(a.values["view"], "home", vs.files.showable)
	if err != nil {
		return nil, err
	}
	v, published := vs.homes[u.ID]
	hash := a.str("hash")
	switch {
	case published && hash != "" && hash != v.hash:
		return nil, wire.Refuse("hash_conflict")
	case published:
		vs.renew(v, body, blocks)
	default:
		v = vs.newView(u.ID, "home", body, blocks)
	}
	vs.homes[u.ID] = v
	return reply{"view": vs.viewJSON(v, true)}, nil
}

// applyAnswer does with a submitted form what the bot's answer says. An
// answer that the platform would not understand is an error: the person would
// be told that there was some trouble connecting.
func (vs *views) applyAnswer(user, viewID string, body []byte) (map[string]string, error) {
	v := vs.byID[viewID]
	if len(strings.TrimSpace(string(body))) == 0 {
		if v != nil {
			vs.closeFrom(v)
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
		vs.closeAll(user)
		return nil, nil
	case "update", "push":
		return nil, vs.answerView(v, user, action, o["view"])
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
func (vs *views) answerView(v *view, user, action string, next any) error {
	body, blocks, err := blockkit.CheckView(next, "modal", vs.files.showable)
	switch {
	case err != nil:
	case action == "push":
		_, err = vs.open(user, body, blocks, false)
	case v != nil: // else it was closed meanwhile, and there is nothing to update
		vs.renew(v, body, blocks)
	}
	if err != nil {
		return fmt.Errorf("the answer's view: %w: %w", err, ErrNoAck)
	}
	return nil
}
