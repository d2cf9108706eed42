package blockkit

import (
	"fmt"
	"math/big"
	"time"
	"unicode/utf8"

	"soundings/bot/fakeslack/wire"
)

// A Value is what somebody types or chooses. Which field counts depends on
// the element; the zero value is a plain press, or clears a field.
type Value struct {
	Text    string   // typed words; also a number, an address
	Option  string   // value of the option chosen in a menu, radio group or overflow
	Options []string // values of all options ticked, in a menu of many or checkboxes
	ID      string   // of the person, channel or conversation chosen
	IDs     []string // of all of them
	Date    string   // YYYY-MM-DD
}

// An InputError says why the platform's own client would not let a value
// through: the bot is never asked.
type InputError struct {
	BlockID, ActionID string
	Reason            string
}

func (e *InputError) Error() string {
	return fmt.Sprintf("field %s/%s: %s", e.BlockID, e.ActionID, e.Reason)
}

// Refuse returns an *InputError about the element.
func (p Placed) Refuse(format string, args ...any) error {
	return &InputError{BlockID: p.BlockID(), ActionID: p.ActionID(), Reason: fmt.Sprintf(format, args...)}
}

// Offers says what is wrong with the id of a person, channel or conversation
// that a menu of this kind would not offer: "nobody", "no conversation". It is
// empty for one that the menu has.
type Offers func(kind, id string) string

// State is v as payloads show it, if the element lets it through.
func (p Placed) State(v Value, offers Offers) (map[string]any, error) {
	kind := p.Kind()
	field, _, many := ValueFields(kind)
	if field == "" {
		return nil, p.Refuse("a %s takes no value", kind)
	}
	value, err := p.fieldValue(field, many, v, offers)
	if err != nil {
		return nil, err
	}
	return map[string]any{"type": kind, field: value}, nil
}

func (p Placed) fieldValue(field string, many bool, v Value, offers Offers) (any, error) {
	switch field {
	case "value":
		return typedValue(p, v.Text)
	case "selected_option":
		return chosenOption(p, v.Option)
	case "selected_options":
		return choose(p, v.Options, func(value string) (any, error) { return chosenOption(p, value) })
	case "selected_date":
		return aDate(p, v.Date)
	}
	offered := func(id string) (any, error) {
		if what := offers(p.Kind(), id); what != "" {
			return nil, p.Refuse("there is %s %q to choose", what, id)
		}
		return id, nil
	}
	switch {
	case many:
		return choose(p, v.IDs, offered)
	case v.ID == "":
		return nil, nil
	}
	return offered(v.ID)
}

// typedValue is what was typed, raw: form values are not escaped. An empty
// field is null.
func typedValue(p Placed, s string) (any, error) {
	if s == "" {
		return nil, nil
	}
	switch p.Kind() {
	case "plain_text_input":
		low, high := LengthLimits(p.Element)
		if n := utf8.RuneCountInString(s); n < low || n > high {
			return nil, p.Refuse("%d characters, where %d to %d are allowed", n, low, high)
		}
	case "number_input":
		return s, numberFits(p, s)
	}
	return s, nil
}

func numberFits(p Placed, s string) error {
	n, ok := new(big.Rat).SetString(s)
	if !ok || !patterns["number"].MatchString(s) {
		return p.Refuse("%q is not a number", s)
	}
	if !wire.Flag(p.Element, "is_decimal_allowed") && !n.IsInt() {
		return p.Refuse("%s is not a whole number", s)
	}
	if low, ok := new(big.Rat).SetString(wire.Str(p.Element, "min_value")); ok && n.Cmp(low) < 0 {
		return p.Refuse("%s is less than %s", s, wire.Str(p.Element, "min_value"))
	}
	if high, ok := new(big.Rat).SetString(wire.Str(p.Element, "max_value")); ok && n.Cmp(high) > 0 {
		return p.Refuse("%s is more than %s", s, wire.Str(p.Element, "max_value"))
	}
	return nil
}

func chosenOption(p Placed, value string) (any, error) {
	if value == "" {
		return nil, nil
	}
	for _, o := range OptionsOf(p.Element) {
		if wire.Str(o, "value") == value {
			return o, nil
		}
	}
	return nil, p.Refuse("there is no option %q", value)
}

func aDate(p Placed, s string) (any, error) {
	if s == "" {
		return nil, nil
	}
	if t, err := time.Parse(time.DateOnly, s); err != nil || t.Format(time.DateOnly) != s {
		return nil, p.Refuse("%q is not of the form %s", s, time.DateOnly)
	}
	return s, nil
}

// choose takes what was chosen one by one, and no more of it than allowed.
func choose(p Placed, chosen []string, one func(string) (any, error)) (any, error) {
	out := []any{}
	for _, s := range chosen {
		v, err := one(s)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	if most, ok := wire.Whole(p.Element, "max_selected_items"); ok && len(out) > most {
		return nil, p.Refuse("%d chosen, where at most %d are allowed", len(out), most)
	}
	return out, nil
}
