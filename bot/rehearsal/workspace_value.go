package rehearsal

import (
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"net/mail"
	"net/url"
	"strconv"
	"time"
	"unicode/utf8"
)

// ErrNotShown is wrapped when somebody reaches for what they cannot see: a
// button that is gone, a form that was closed, a channel they are not in.
var ErrNotShown = errors.New("not there for this person")

// A Value is what somebody types or chooses. Which field counts depends on
// the element; the zero value is a plain press, or clears a field.
type Value struct {
	Text     string   // typed words; also a number, an address
	Option   string   // value of the option chosen in a menu, radio group or overflow
	Options  []string // values of all options ticked, in a menu of many or checkboxes
	ID       string   // of the person, channel or conversation chosen
	IDs      []string // of all of them
	Date     string   // YYYY-MM-DD
	Time     string   // HH:mm
	DateTime int64    // Unix seconds
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

func inputError(p placed, format string, args ...any) error {
	return &InputError{BlockID: p.blockID(), ActionID: p.actionID(), Reason: fmt.Sprintf(format, args...)}
}

// valueFor is v as payloads show it, if the element lets it through.
func (w *Workspace) valueFor(p placed, v Value) (map[string]any, error) {
	kind := p.kind()
	field, _, many := valueFields(kind)
	if field == "" {
		return nil, inputError(p, "a %s takes no value", kind)
	}
	value, err := w.fieldValue(p, field, many, v)
	if err != nil {
		return nil, err
	}
	return map[string]any{"type": kind, field: value}, nil
}

func (w *Workspace) fieldValue(p placed, field string, many bool, v Value) (any, error) {
	switch field {
	case "value":
		return typedValue(p, v.Text)
	case "selected_option":
		return chosenOption(p, v.Option)
	case "selected_options":
		return chosenOptions(p, v.Options)
	case "selected_date":
		return madeOf(p, v.Date, time.DateOnly)
	case "selected_time":
		return madeOf(p, v.Time, "15:04")
	case "selected_date_time":
		return orNull(strconv.FormatInt(v.DateTime, 10), v.DateTime != 0, func(s string) any { return json.Number(s) }), nil
	case "rich_text_value":
		return orNull(v.Text, v.Text != "", richText), nil
	case "files":
		return nil, inputError(p, "files cannot be handed in here")
	}
	return w.chosenIDs(p, many, v)
}

func orNull(s string, given bool, as func(string) any) any {
	if !given {
		return nil
	}
	return as(s)
}

func richText(s string) any {
	return map[string]any{"type": "rich_text", "elements": []any{
		map[string]any{"type": "rich_text_section", "elements": []any{map[string]any{"type": "text", "text": s}}},
	}}
}

// typedValue is what was typed, raw: form values are not escaped. An empty
// field is null.
func typedValue(p placed, s string) (any, error) {
	if s == "" {
		return nil, nil
	}
	switch p.kind() {
	case "plain_text_input":
		low, high := lengthLimits(p.element)
		if n := utf8.RuneCountInString(s); n < low || n > high {
			return nil, inputError(p, "%d characters, where %d to %d are allowed", n, low, high)
		}
	case "number_input":
		return s, numberFits(p, s)
	case "email_text_input":
		if a, err := mail.ParseAddress(s); err != nil || a.Address != s {
			return nil, inputError(p, "not an e-mail address")
		}
	case "url_text_input":
		if u, err := url.Parse(s); err != nil || u.Scheme == "" || u.Host == "" {
			return nil, inputError(p, "not a web address")
		}
	}
	return s, nil
}

func numberFits(p placed, s string) error {
	n, ok := new(big.Rat).SetString(s)
	if !ok || !numberPattern.MatchString(s) {
		return inputError(p, "%q is not a number", s)
	}
	if !flag(p.element, "is_decimal_allowed") && !n.IsInt() {
		return inputError(p, "%s is not a whole number", s)
	}
	if low, ok := new(big.Rat).SetString(str(p.element, "min_value")); ok && n.Cmp(low) < 0 {
		return inputError(p, "%s is less than %s", s, str(p.element, "min_value"))
	}
	if high, ok := new(big.Rat).SetString(str(p.element, "max_value")); ok && n.Cmp(high) > 0 {
		return inputError(p, "%s is more than %s", s, str(p.element, "max_value"))
	}
	return nil
}

func chosenOption(p placed, value string) (any, error) {
	if value == "" {
		return nil, nil
	}
	for _, o := range optionsOf(p.element) {
		if str(o, "value") == value {
			return o, nil
		}
	}
	return nil, inputError(p, "there is no option %q", value)
}

func chosenOptions(p placed, values []string) (any, error) {
	out := []any{}
	for _, v := range values {
		o, err := chosenOption(p, v)
		if err != nil {
			return nil, err
		}
		out = append(out, o)
	}
	return out, fewEnough(p, len(out))
}

func fewEnough(p placed, n int) error {
	if most, ok := whole(p.element, "max_selected_items"); ok && n > most {
		return inputError(p, "%d chosen, where at most %d are allowed", n, most)
	}
	return nil
}

func madeOf(p placed, s, layout string) (any, error) {
	if s == "" {
		return nil, nil
	}
	if t, err := time.Parse(layout, s); err != nil || t.Format(layout) != s {
		return nil, inputError(p, "%q is not of the form %s", s, layout)
	}
	return s, nil
}

func (w *Workspace) chosenIDs(p placed, many bool, v Value) (any, error) {
	if !many {
		if v.ID == "" {
			return nil, nil
		}
		return v.ID, w.choosable(p, v.ID)
	}
	out := []any{}
	for _, id := range v.IDs {
		if err := w.choosable(p, id); err != nil {
			return nil, err
		}
		out = append(out, id)
	}
	return out, fewEnough(p, len(out))
}

// choosable refuses people and channels that the menu would not offer.
func (w *Workspace) choosable(p placed, id string) error {
	u, person := w.users[id]
	c, place := w.channels[id]
	switch p.kind() {
	case "users_select", "multi_users_select":
		if !person || u.Deleted {
			return inputError(p, "there is nobody %q to choose", id)
		}
	case "channels_select", "multi_channels_select":
		if !place || c.Private || c.Archived {
			return inputError(p, "there is no open channel %q to choose", id)
		}
	default:
		if !person && !place {
			return inputError(p, "there is no conversation %q to choose", id)
		}
	}
	return nil
}
