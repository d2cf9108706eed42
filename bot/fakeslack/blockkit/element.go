package blockkit

import (
	"strings"

	"soundings/bot/fakeslack/wire"
)

// An Element is something that a person can press or fill in, with the words
// that they see at it.
type Element struct {
	BlockID, ActionID string
	Type              string // "button", "static_select", "plain_text_input", …
	Label             string // of a button its own words, of a field its label, of a menu its placeholder
	Text              string // what stands beside it in the same block
	Hint              string // below a field
	Options           []Option
	Value             string // what a button carries; what a field starts with
	URL               string // a button that leads elsewhere
	Style             string // "primary", "danger" or empty
	InForm            bool   // a field of an input block
	Optional          bool   // a field that may stay empty
	ActsAtOnce        bool   // the bot hears of it without any submitting
	MaxLength         int    // of typed text, in characters; 0 for other kinds
	VisibleTo         []string
}

// An Option is one choice of a menu, a radio group or checkboxes.
type Option struct {
	Text, Value, Description string
	Chosen                   bool // at first
}

// Elements lists what can be pressed and filled in, in reading order.
func Elements(blocks []Block) []Element {
	var out []Element
	for _, p := range Interactive(blocks) {
		out = append(out, elementOf(p))
	}
	return out
}

func elementOf(p Placed) Element {
	e := Element{
		BlockID: p.BlockID(), ActionID: p.ActionID(), Type: p.Kind(),
		Label:   Words(p.Element["text"]),
		Text:    besides(p.Block),
		Options: optionList(p.Element),
		URL:     wire.Str(p.Element, "url"), Style: wire.Str(p.Element, "style"),
		InForm: p.InInput(), Optional: wire.Flag(p.Block, "optional"),
		ActsAtOnce: !p.InInput() || wire.Flag(p.Block, "dispatch_action"),
	}
	if e.InForm {
		e.Label, e.Hint = Words(p.Block["label"]), Words(p.Block["hint"])
	}
	if e.Label == "" {
		e.Label = Words(p.Element["placeholder"])
	}
	if p.Kind() == "plain_text_input" {
		_, e.MaxLength = LengthLimits(p.Element)
	}
	e.Value = startOf(p.Element)
	for _, id := range wire.List(p.Element, "visible_to_user_ids") {
		if id, ok := id.(string); ok {
			e.VisibleTo = append(e.VisibleTo, id)
		}
	}
	return e
}

// startOf is what an element carries or starts with, as far as that is one
// word.
func startOf(el map[string]any) string {
	if s := wire.Str(el, "value"); s != "" {
		return s
	}
	_, start, _ := ValueFields(wire.Str(el, "type"))
	if o := wire.Obj(el, start); o != nil {
		return wire.Str(o, "value")
	}
	return wire.Str(el, start)
}

// besides is the text that stands in the same block as an element.
func besides(b Block) string {
	var parts []string
	if s := Words(b["text"]); s != "" {
		parts = append(parts, s)
	}
	for _, f := range wire.List(b, "fields") {
		parts = append(parts, Words(f))
	}
	return strings.Join(parts, "\n")
}

// Words is the text of a text object.
func Words(v any) string {
	o, _ := v.(map[string]any)
	return wire.Str(o, "text")
}

func optionList(el map[string]any) []Option {
	chosen := map[string]bool{}
	if o := wire.Obj(el, "initial_option"); o != nil {
		chosen[wire.Str(o, "value")] = true
	}
	for _, o := range wire.List(el, "initial_options") {
		if o, ok := o.(map[string]any); ok {
			chosen[wire.Str(o, "value")] = true
		}
	}
	var out []Option
	for _, o := range OptionsOf(el) {
		out = append(out, Option{
			Text: Words(o["text"]), Value: wire.Str(o, "value"), Description: Words(o["description"]),
			Chosen: chosen[wire.Str(o, "value")],
		})
	}
	return out
}
