package blockkit

import (
	"maps"
	"slices"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// Action is what a payload says of somebody who acts on the element with a
// value. The choice is kept in state.
func (p Placed) Action(state State, v Value, offers Offers) (wire.Object, error) {
	action := wire.Object{"type": p.Kind(), "action_id": p.ActionID(), "block_id": p.BlockID()}
	switch p.Kind() {
	case "button", "icon_button":
		for _, key := range []string{"text", "value", "style"} {
			if p.Element[key] != nil {
				action[key] = p.Element[key]
			}
		}
		return action, nil
	case "overflow":
		return action, setChoice(action, p, v)
	case "feedback_buttons":
		return action, setFeedback(action, p, v)
	}
	value, err := p.State(v, offers)
	if err != nil {
		return nil, err
	}
	state.Put(p, value)
	maps.Copy(action, value)
	if _, start, _ := ValueFields(p.Kind()); p.Element[start] != nil {
		action[start] = p.Element[start]
	}
	return action, nil
}

func setChoice(action wire.Object, p Placed, v Value) error {
	o, err := chosenOption(p, v.Option)
	if err != nil {
		return err
	}
	if o == nil {
		return p.Refuse("nothing was chosen")
	}
	action["selected_option"] = o
	return nil
}

// setFeedback takes the value of one of the two buttons.
func setFeedback(action wire.Object, p Placed, v Value) error {
	for _, key := range []string{"positive_button", "negative_button"} {
		if b := wire.Obj(p.Element, key); wire.Str(b, "value") == v.Option {
			action["text"], action["value"] = b["text"], b["value"]
			return nil
		}
	}
	return p.Refuse("there is no button of value %q", v.Option)
}

// WaitsForEnter reports whether typing alone tells the bot nothing.
func (p Placed) WaitsForEnter() bool {
	if !strings.HasSuffix(p.Kind(), "_input") {
		return false
	}
	on := wire.List(wire.Obj(p.Element, "dispatch_action_config"), "trigger_actions_on")
	return !slices.Contains(on, any("on_character_entered"))
}
