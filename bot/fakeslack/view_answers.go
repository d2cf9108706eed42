package fakeslack

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

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
