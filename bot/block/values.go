package block

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// Values are the entries of a form, by block id and action id. A block holds
// one input, and its id is the name of the field, the one by which a refusal
// names it.
type Values map[string]map[string]slack.BlockAction

// field is the one input in a block.
func (v Values) field(block string) slack.BlockAction {
	for _, input := range v[block] {
		return input
	}
	return slack.BlockAction{}
}

// Text is what was typed, every character of it; nothing but blanks is no
// text.
func (v Values) Text(block string) string {
	text := v.field(block).Value
	if strings.TrimSpace(text) == "" {
		return ""
	}
	return text
}

// Choice is the value of the option chosen in a select or among radio
// buttons; empty when none was.
func (v Values) Choice(block string) string { return v.field(block).SelectedOption.Value }

// Choices are the values of the options ticked or chosen.
func (v Values) Choices(block string) []string {
	var out []string
	for _, o := range v.field(block).SelectedOptions {
		out = append(out, o.Value)
	}
	return out
}

// Number is a choice or an entry as a whole number; ok is false when it is
// empty or none.
func (v Values) Number(block string) (n int, ok bool) {
	text := v.Choice(block)
	if text == "" {
		text = strings.TrimSpace(v.Text(block))
	}
	n, err := strconv.Atoi(text)
	return n, err == nil
}

// Decimal is an entry as a number; what is not finite is none.
func (v Values) Decimal(block string) (x float64, ok bool) {
	text := v.Choice(block)
	if text == "" {
		text = strings.TrimSpace(v.Text(block))
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil && !math.IsNaN(x) && !math.IsInf(x, 0)
}

// Person is the one person chosen.
func (v Values) Person(block string) flows.UserID { return flows.UserID(v.field(block).SelectedUser) }

// People are the people chosen.
func (v Values) People(block string) []flows.UserID {
	var out []flows.UserID
	for _, u := range v.field(block).SelectedUsers {
		out = append(out, flows.UserID(u))
	}
	return out
}

// Channel is the channel chosen.
func (v Values) Channel(block string) string { return v.field(block).SelectedConversation }

// Day is the date chosen.
func (v Values) Day(block string) flows.LocalDay { return flows.LocalDay(v.field(block).SelectedDate) }

// Blocks lists the blocks whose id begins with prefix, sorted: a form with
// one input per assumption names them "kind/A1", "kind/A2" and so on.
func (v Values) Blocks(prefix string) []string {
	var out []string
	for block := range v {
		if strings.HasPrefix(block, prefix) {
			out = append(out, block)
		}
	}
	slices.Sort(out)
	return out
}

// ByField puts entries under the names of their fields.
func (v Values) ByField() Values {
	out := make(Values, len(v))
	for id, inputs := range v {
		out[FieldOf(id)] = inputs
	}
	return out
}
