package blockkit

import (
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

// valueFields name, for each kind of element that keeps a value, where it
// stands in payloads and the property that it starts from.
var valueFields = map[string]struct {
	field, start string
	many         bool
}{
	"plain_text_input":           {"value", "initial_value", false},
	"number_input":               {"value", "initial_value", false},
	"static_select":              {"selected_option", "initial_option", false},
	"radio_buttons":              {"selected_option", "initial_option", false},
	"multi_static_select":        {"selected_options", "initial_options", true},
	"checkboxes":                 {"selected_options", "initial_options", true},
	"users_select":               {"selected_user", "initial_user", false},
	"multi_users_select":         {"selected_users", "initial_users", true},
	"conversations_select":       {"selected_conversation", "initial_conversation", false},
	"multi_conversations_select": {"selected_conversations", "initial_conversations", true},
	"datepicker":                 {"selected_date", "initial_date", false},
}

// ValueFields names where a value of this kind stands in payloads, and the
// property that it starts from; nothing for a kind that keeps none.
func ValueFields(kind string) (field, start string, many bool) {
	v := valueFields[kind]
	return v.field, v.start, v.many
}

// EmptyValue reports whether a required field with this value would stop a
// person from submitting.
func EmptyValue(value map[string]any) bool {
	field, _, _ := ValueFields(wire.Str(value, "type"))
	many, is := value[field].([]any)
	return value[field] == nil || value[field] == "" || is && len(many) == 0
}
