package page

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// A drawnElement is one control for the templates.
type drawnElement struct {
	wire.Object        // as the bot sent it
	Kind        string // the template that draws it
	ID          string // on the page
	Name        string // of its field in the page's form
	Do          string // what pressing or choosing it does; empty for a field that waits for the form
	Label       string // for those who do not see where it stands
	Value       string
	MaxLength   int
	Options     []drawnOption
	Picture     *drawnPicture
	Invalid     bool
	Required    bool
}

// A drawnOption is one choice.
type drawnOption struct {
	ID, Group, Text, Value, About string
	Chosen                        bool
}

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
func (c control) in(elements []blockkit.Placed) (blockkit.Placed, bool) {
	if at, ok := blockkit.Find(elements, c.block, c.action); ok && c.block != "" {
		return at, true
	}
	for _, at := range elements {
		if at.ActionID() == c.action && wire.Str(at.Element, "value") == c.value {
			return at, true
		}
	}
	return blockkit.Placed{}, false
}

func (p *painter) element(at blockkit.Placed) drawnElement {
	el := at.Element
	d := drawnElement{
		Object: el,
		ID:     p.nth("element", given(at.BlockID()), at.ActionID(), wire.Str(el, "value")),
		Name:   controlName(fieldVerb, at.BlockID(), at.ActionID()),
		Label:  cmp.Or(wire.Str(el, "accessibility_label"), blockkit.Words(el["placeholder"])),
	}
	if !at.InInput() {
		d.Do = controlName(pressVerb, at.BlockID(), at.ActionID()) + ":" + url.QueryEscape(wire.Str(el, "value"))
	}
	p.shape(&d, at)
	return d
}

// menus are the controls that offer choices: the template that draws one, and
// what it offers.
var menus = map[string]struct {
	kind   string
	offers func(*painter, blockkit.Placed) []drawnOption
}{
	"static_select":        {"menu", (*painter).options},
	"users_select":         {"menu", (*painter).people},
	"conversations_select": {"menu", (*painter).channels},
	"multi_static_select":  {"boxes", (*painter).options},
	"multi_users_select":   {"boxes", (*painter).people},
	"radio_buttons":        {"radios", (*painter).options},
	"checkboxes":           {"boxes", (*painter).options},
}

// shape sets what differs from kind to kind.
func (p *painter) shape(d *drawnElement, at blockkit.Placed) {
	el, value := at.Element, p.state.Get(at)
	kind := at.Kind()
	if m, ok := menus[kind]; ok {
		d.Kind, d.Options = m.kind, m.offers(p, at)
		chosen := chosenValues(value)
		for i := range d.Options {
			o := &d.Options[i]
			o.ID, o.Chosen = p.id("option", at.BlockID(), at.ActionID(), o.Value), slices.Contains(chosen, o.Value)
		}
		return
	}
	switch kind {
	case "button":
		d.Kind, d.Label = "button", wire.Str(el, "accessibility_label")
	case "plain_text_input":
		d.Kind, d.Value = "text", wire.Str(value, "value")
		_, d.MaxLength = blockkit.LengthLimits(el)
	case "number_input":
		d.Kind, d.Value = "text", wire.Str(value, "value")
	case "datepicker":
		d.Kind, d.Value = "date", wire.Str(value, "selected_date")
	case "image":
		d.Kind, d.Picture = "image", p.picture(el)
	default:
		p.fault("an element of type %q", kind)
		d.Kind = "undrawn"
	}
}

// chosenValues are the values, or the ids, that a person has chosen.
func chosenValues(value map[string]any) []string {
	field, _, _ := blockkit.ValueFields(wire.Str(value, "type"))
	of := func(v any) string {
		if o, ok := v.(map[string]any); ok {
			return wire.Str(o, "value")
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

func (p *painter) options(at blockkit.Placed) []drawnOption {
	groups := map[string]string{}
	for _, g := range wire.List(at.Element, "option_groups") {
		o, _ := g.(map[string]any)
		for _, inner := range wire.List(o, "options") {
			option, _ := inner.(map[string]any)
			groups[wire.Str(option, "value")] = blockkit.Words(o["label"])
		}
	}
	var out []drawnOption
	for _, o := range blockkit.OptionsOf(at.Element) {
		value := wire.Str(o, "value")
		out = append(out, drawnOption{Group: groups[value], Text: blockkit.Words(o["text"]), Value: value, About: blockkit.Words(o["description"])})
	}
	return out
}

// people are the choices of a menu of people: all but bots and those who left.
func (p *painter) people(_ blockkit.Placed) []drawnOption {
	var out []drawnOption
	for _, u := range p.team.Users() {
		if !u.Bot && !u.Deleted {
			out = append(out, drawnOption{Text: u.RealName, Value: u.ID})
		}
	}
	return out
}

// channels are the choices of a menu of channels: those that the viewer sees
// and can write in.
func (p *painter) channels(_ blockkit.Placed) []drawnOption {
	var out []drawnOption
	for _, c := range p.team.Channels() {
		if seen := !c.Private || slices.Contains(c.Members, p.viewer.ID); seen && !c.IM && !c.Archived {
			out = append(out, drawnOption{Text: "#" + c.Name, Value: c.ID})
		}
	}
	return out
}
