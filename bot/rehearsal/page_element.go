package rehearsal

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strings"
)

// A drawnElement is one control for the templates.
type drawnElement struct {
	Kind        string // the template that draws it
	ID          string // on the page
	Name        string // of its field in the page's form
	Do          string // what pressing or choosing it does; empty for a field that waits for the form
	Text        string // on a button
	Label       string // for those who do not see where it stands
	Value       string
	Placeholder string
	Mode        string // inputmode of a field
	MaxLength   int
	Multiline   bool
	Style       string
	URL         string
	Options     []drawnOption
	Confirm     *drawnConfirm
	Picture     *drawnPicture
	Invalid     bool
	Required    bool
	Hinted      bool
	Focus       bool // wants the focus when the form opens
}

// A drawnOption is one choice.
type drawnOption struct {
	ID, Group, Text, Value, About string
	Chosen                        bool
}

// A drawnConfirm is the question before something is done.
type drawnConfirm struct{ Title, Text, Yes, No, Style string }

// What a control does is written into its name or value: a verb, and the ids
// of block and element, each escaped so that the colons part them.
const (
	fieldVerb = "field"
	pressVerb = "press"
)

func controlName(verb, block, action string) string {
	return verb + ":" + url.QueryEscape(block) + ":" + url.QueryEscape(action)
}

// A control is such a name, read.
type control struct{ verb, block, action, value string }

func readControl(name string) (control, error) {
	var parts [4]string
	for i, part := range strings.SplitN(name, ":", len(parts)) {
		text, err := url.QueryUnescape(part)
		if err != nil {
			return control{}, fmt.Errorf("read what to do: %w", err)
		}
		parts[i] = text
	}
	return control{parts[0], parts[1], parts[2], parts[3]}, nil
}

// in finds the control among what stands there now. The message may have been
// drawn anew meanwhile, with other ids for blocks that have none of their own.
func (c control) in(elements []placed) (placed, bool) {
	if at, ok := find(elements, c.block, c.action); ok && c.block != "" {
		return at, true
	}
	for _, at := range elements {
		if at.actionID() == c.action && str(at.element, "value") == c.value {
			return at, true
		}
	}
	return placed{}, false
}

func (p *painter) element(at placed) drawnElement {
	el := at.element
	d := drawnElement{
		ID:          p.nth("element", given(at.blockID()), at.actionID(), str(el, "value")),
		Name:        controlName(fieldVerb, at.blockID(), at.actionID()),
		Label:       cmp.Or(str(el, "accessibility_label"), words(el["placeholder"])),
		Placeholder: words(el["placeholder"]),
		Confirm:     confirmOf(el),
		Focus:       flag(el, "focus_on_load"),
	}
	if !at.inInput() || flag(at.block, "dispatch_action") {
		d.Do = controlName(pressVerb, at.blockID(), at.actionID()) + ":" + url.QueryEscape(str(el, "value"))
	}
	p.shape(&d, at)
	return d
}

// shape sets what differs from kind to kind.
func (p *painter) shape(d *drawnElement, at placed) {
	el, value := at.element, p.state.get(at)
	switch kind := at.kind(); kind {
	case "button":
		d.Kind, d.Text, d.Style, d.URL = "button", words(el["text"]), str(el, "style"), str(el, "url")
		d.Label = str(el, "accessibility_label")
	case "static_select":
		d.Kind, d.Options = "menu", p.options(at, chosenValues(value))
	case "users_select":
		d.Kind, d.Options = "menu", p.people(at, chosenValues(value))
	case "conversations_select", "channels_select":
		d.Kind, d.Options = "menu", p.channels(at, chosenValues(value))
	case "multi_static_select":
		d.Kind, d.Options = "boxes", p.options(at, chosenValues(value))
	case "multi_users_select":
		d.Kind, d.Options = "boxes", p.people(at, chosenValues(value))
	case "radio_buttons":
		d.Kind, d.Options = "radios", p.options(at, chosenValues(value))
	case "checkboxes":
		d.Kind, d.Options = "boxes", p.options(at, chosenValues(value))
	case "plain_text_input":
		d.Kind, d.Value, d.Multiline = "text", str(value, "value"), flag(el, "multiline")
		_, d.MaxLength = lengthLimits(el)
	case "number_input":
		d.Kind, d.Value, d.Mode = "text", str(value, "value"), "decimal"
	case "datepicker":
		d.Kind, d.Value = "date", str(value, "selected_date")
	case "image":
		d.Kind, d.Picture = "image", p.picture(el)
	default:
		p.fault("an element of type %q", kind)
		d.Kind = "undrawn"
		d.Text = kind
	}
}

// chosenValues are the values, or the ids, that a person has chosen.
func chosenValues(value map[string]any) []string {
	field, _, _ := valueFields(str(value, "type"))
	of := func(v any) string {
		if o, ok := v.(map[string]any); ok {
			return str(o, "value")
		}
		s, _ := v.(string)
		return s
	}
	var out []string
	switch v := value[field].(type) {
	case nil:
	case []any:
		for _, one := range v {
			out = append(out, of(one))
		}
	default:
		out = append(out, of(v))
	}
	return out
}

func (p *painter) options(at placed, chosen []string) []drawnOption {
	groups := map[string]string{}
	for _, g := range list(at.element, "option_groups") {
		o, _ := g.(map[string]any)
		for _, inner := range list(o, "options") {
			option, _ := inner.(map[string]any)
			groups[str(option, "value")] = words(o["label"])
		}
	}
	var out []drawnOption
	for _, o := range optionsOf(at.element) {
		value := str(o, "value")
		out = append(out, drawnOption{
			ID: p.id("option", at.blockID(), at.actionID(), value), Group: groups[value],
			Text: words(o["text"]), Value: value, About: words(o["description"]),
			Chosen: slices.Contains(chosen, value),
		})
	}
	return out
}

// people are the choices of a menu of people: all but bots and those who left.
func (p *painter) people(at placed, chosen []string) []drawnOption {
	var out []drawnOption
	for _, u := range p.ws.Users() {
		if !u.Bot && !u.Deleted {
			out = append(out, drawnOption{ID: p.id("person", at.blockID(), at.actionID(), u.ID), Text: u.RealName, Value: u.ID, Chosen: slices.Contains(chosen, u.ID)})
		}
	}
	return out
}

// channels are the choices of a menu of channels: those that the viewer sees
// and can write in.
func (p *painter) channels(at placed, chosen []string) []drawnOption {
	var out []drawnOption
	for _, c := range p.ws.Channels() {
		if seen := !c.Private || slices.Contains(c.Members, p.viewer.ID); seen && !c.IM && !c.MPIM && !c.Archived {
			out = append(out, drawnOption{ID: p.id("channel", at.blockID(), at.actionID(), c.ID), Text: "#" + c.Name, Value: c.ID, Chosen: slices.Contains(chosen, c.ID)})
		}
	}
	return out
}

func confirmOf(el map[string]any) *drawnConfirm {
	c := obj(el, "confirm")
	if c == nil {
		return nil
	}
	return &drawnConfirm{
		Title: words(c["title"]), Text: words(c["text"]), Style: str(c, "style"),
		Yes: cmp.Or(words(c["confirm"]), "Yes"), No: cmp.Or(words(c["deny"]), "Cancel"),
	}
}
