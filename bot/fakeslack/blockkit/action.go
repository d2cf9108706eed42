package blockkit

import (
	"maps"

	"soundings/bot/fakeslack/wire"
)

// Action is what a payload says of somebody who acts on the element with a
// value. The choice is kept in state.
func (p Placed) Action(state State, v Value, offers Offers) (wire.Object, error) {
	action := wire.Object{"type": p.Kind(), "action_id": p.ActionID(), "block_id": p.BlockID()}
	if p.Kind() == "button" {
		for _, key := range []string{"text", "value", "style"} {
			if p.Element[key] != nil {
				action[key] = p.Element[key]
			}
		}
		return action, nil
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
