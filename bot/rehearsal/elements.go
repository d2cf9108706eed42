package rehearsal

import "strings"

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
	for _, p := range placedIn(blocks, "") {
		out = append(out, elementOf(p))
	}
	return out
}

func elementOf(p placed) Element {
	e := Element{
		BlockID: p.blockID(), ActionID: p.actionID(), Type: p.kind(),
		Label:   words(p.element["text"]),
		Text:    besides(p.block),
		Options: optionList(p.element),
		URL:     str(p.element, "url"), Style: str(p.element, "style"),
		InForm: p.inInput(), Optional: flag(p.block, "optional"),
		ActsAtOnce: !p.inInput() || flag(p.block, "dispatch_action"),
	}
	if e.InForm {
		e.Label, e.Hint = words(p.block["label"]), words(p.block["hint"])
	}
	if e.Label == "" {
		e.Label = words(p.element["placeholder"])
	}
	if p.kind() == "plain_text_input" {
		_, e.MaxLength = lengthLimits(p.element)
	}
	e.Value = startOf(p.element)
	for _, id := range list(p.element, "visible_to_user_ids") {
		if id, ok := id.(string); ok {
			e.VisibleTo = append(e.VisibleTo, id)
		}
	}
	return e
}

// startOf is what an element carries or starts with, as far as that is one
// word.
func startOf(el map[string]any) string {
	if s := str(el, "value"); s != "" {
		return s
	}
	_, start, _ := valueFields(str(el, "type"))
	if o := obj(el, start); o != nil {
		return str(o, "value")
	}
	return str(el, start)
}

// besides is the text that stands in the same block as an element.
func besides(b Block) string {
	var parts []string
	if s := words(b["text"]); s != "" {
		parts = append(parts, s)
	}
	for _, f := range list(b, "fields") {
		parts = append(parts, words(f))
	}
	return strings.Join(parts, "\n")
}

// words is the text of a text object.
func words(v any) string {
	o, _ := v.(map[string]any)
	return str(o, "text")
}

func optionList(el map[string]any) []Option {
	chosen := map[string]bool{}
	if o := obj(el, "initial_option"); o != nil {
		chosen[str(o, "value")] = true
	}
	for _, o := range list(el, "initial_options") {
		if o, ok := o.(map[string]any); ok {
			chosen[str(o, "value")] = true
		}
	}
	var out []Option
	for _, o := range optionsOf(el) {
		out = append(out, Option{
			Text: words(o["text"]), Value: str(o, "value"), Description: words(o["description"]),
			Chosen: chosen[str(o, "value")],
		})
	}
	return out
}
