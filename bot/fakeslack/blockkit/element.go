package blockkit

import (
	"cmp"

	"soundings/bot/fakeslack/wire"
)

// An Element is something that a person can press or fill in, with the words
// that they see at it.
type Element struct {
	BlockID, ActionID string
	Type              string // "button", "static_select", "plain_text_input", …
	Label             string // of a button its own words, of a field its label, of a menu its placeholder
	Options           []Option
	Value             string // what a button carries; what a field starts with
}

// An Option is one choice of a menu, a radio group or checkboxes.
type Option struct{ Text, Value string }

// Elements lists what can be pressed and filled in, in reading order.
func Elements(blocks []Block) []Element {
	var out []Element
	for _, p := range Interactive(blocks) {
		e := Element{BlockID: p.BlockID(), ActionID: p.ActionID(), Type: p.Kind(), Label: p.label(), Value: p.start()}
		for _, o := range OptionsOf(p.Element) {
			e.Options = append(e.Options, Option{Text: Words(o["text"]), Value: wire.Str(o, "value")})
		}
		out = append(out, e)
	}
	return out
}

func (p Placed) label() string {
	label := Words(p.Element["text"])
	if p.InInput() {
		label = Words(p.Block["label"])
	}
	return cmp.Or(label, Words(p.Element["placeholder"]))
}

// start is what an element carries or starts with, as far as that is one word.
func (p Placed) start() string {
	if s := wire.Str(p.Element, "value"); s != "" {
		return s
	}
	_, start, _ := ValueFields(p.Kind())
	if o := wire.Obj(p.Element, start); o != nil {
		return wire.Str(o, "value")
	}
	return wire.Str(p.Element, start)
}

// Words is the text of a text object.
func Words(v any) string {
	o, _ := v.(map[string]any)
	return wire.Str(o, "text")
}
