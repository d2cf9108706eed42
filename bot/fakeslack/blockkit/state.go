package blockkit

import (
	"encoding/json"
	"maps"

	"soundings/bot/fakeslack/wire"
)

// A State is what one person has typed and chosen: block id, then action
// id, then the value as payloads show it. Every element that keeps a value is
// in it, touched or not, so it is also what state.values holds.
type State map[string]map[string]map[string]any

func (s State) Put(p Placed, value map[string]any) {
	if s[p.BlockID()] == nil {
		s[p.BlockID()] = map[string]map[string]any{}
	}
	s[p.BlockID()][p.ActionID()] = value
}

func (s State) Get(p Placed) map[string]any { return s[p.BlockID()][p.ActionID()] }

// Clone copies s down to the values, which nobody changes in place.
func (s State) Clone() State {
	out := State{}
	for block, actions := range s {
		out[block] = maps.Clone(actions)
	}
	return out
}

// NewState is what blocks show before anybody touches them.
func NewState(blocks []Block) State {
	s := State{}
	for _, p := range Interactive(blocks) {
		if v := initialValue(p.Element); v != nil {
			s.Put(p, v)
		}
	}
	return s
}

// CarriedOver is what blocks show when they take the place of others. What
// was there stays where block id, action id and type are all the same, even
// if the new blocks start with another value; everything else starts anew.
// Source: views.update and the modals page; that an untouched field keeps its
// old start too is from memory.
func CarriedOver(old State, blocks []Block) State {
	s := NewState(blocks)
	for _, p := range Interactive(blocks) {
		kept, had := old.Get(p), s.Get(p)
		if kept != nil && had != nil && wire.Str(kept, "type") == p.Kind() && stillListed(p.Element, kept) {
			s.Put(p, kept)
		}
	}
	return s
}

// stillListed reports whether what was chosen is still among the options.
func stillListed(el, kept map[string]any) bool {
	options := OptionsOf(el)
	if len(options) == 0 {
		return true
	}
	if one := kept["selected_option"]; one != nil && !listed(options, one) {
		return false
	}
	for _, o := range wire.List(kept, "selected_options") {
		if !listed(options, o) {
			return false
		}
	}
	return true
}

// initialValue is an element's value before anybody touches it; nil for one
// that keeps none, such as a button.
func initialValue(el map[string]any) map[string]any {
	kind := wire.Str(el, "type")
	field, start, many := ValueFields(kind)
	if field == "" {
		return nil
	}
	value := el[start]
	if value == nil && many {
		value = []any{}
	}
	return map[string]any{"type": kind, field: value}
}

// ValueFields names where a value of this kind stands in payloads, and the
// property that it starts from.
func ValueFields(kind string) (field, start string, many bool) {
	switch kind {
	case "plain_text_input", "number_input", "email_text_input", "url_text_input":
		return "value", "initial_value", false
	case "rich_text_input":
		return "rich_text_value", "initial_value", false
	case "static_select", "external_select", "radio_buttons":
		return "selected_option", "initial_option", false
	case "multi_static_select", "multi_external_select", "checkboxes":
		return "selected_options", "initial_options", true
	case "users_select":
		return "selected_user", "initial_user", false
	case "multi_users_select":
		return "selected_users", "initial_users", true
	case "channels_select":
		return "selected_channel", "initial_channel", false
	case "multi_channels_select":
		return "selected_channels", "initial_channels", true
	case "conversations_select":
		return "selected_conversation", "initial_conversation", false
	case "multi_conversations_select":
		return "selected_conversations", "initial_conversations", true
	case "datepicker":
		return "selected_date", "initial_date", false
	case "timepicker":
		return "selected_time", "initial_time", false
	case "datetimepicker":
		return "selected_date_time", "initial_date_time", false
	case "file_input":
		return "files", "", true
	}
	return "", "", false
}

// EmptyValue reports whether a required field with this value would stop a
// person from submitting.
func EmptyValue(value map[string]any) bool {
	field, _, _ := ValueFields(wire.Str(value, "type"))
	switch v := value[field].(type) {
	case nil:
		return true
	case string:
		return v == ""
	case []any:
		return len(v) == 0
	case json.Number, map[string]any:
		return false
	}
	return false
}
