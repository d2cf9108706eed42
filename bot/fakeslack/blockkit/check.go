package blockkit

import (
	"fmt"
	"reflect"
	"slices"
	"unicode/utf8"

	"soundings/bot/fakeslack/wire"
)

// Limits that hold over several blocks; those of one are in schema.txt.
const (
	mostMessageBlocks = 50
	mostViewBlocks    = 100

	longestText = 3000 // of a text field
	// longestMessage is how many characters all blocks of a message held when
	// the platform refused more, as somebody measured (slackapi/bolt-js
	// issue 2509); it is not documented.
	longestMessage = 13200
)

// CheckMessage refuses blocks that chat.postMessage would refuse. showable
// says whether the file of an id may stand in a picture.
func CheckMessage(blocks []Block, showable func(id string) bool) error {
	c := &checker{}
	c.blocks(blocks, "/blocks", mostMessageBlocks, onMessage)
	switch {
	case len(c.faults) > 0:
		return wire.Refuse("invalid_blocks", c.messages()...)
	case characters(blocks) > longestMessage:
		return wire.Refuse("msg_blocks_too_long")
	}
	c.missingFiles(blocks, "/blocks", showable)
	if len(c.faults) > 0 {
		return wire.Refuse("invalid_blocks", c.messages()...)
	}
	return nil
}

// missingFiles notes pictures whose file may not be shown, in blocks and in
// what stands inside them. A picture by address is not looked at.
func (c *checker) missingFiles(blocks []Block, at string, showable func(id string) bool) {
	for i, b := range blocks {
		c.wantFile(b, fmt.Sprintf("%s/%d", at, i), showable)
		for _, key := range []string{"accessory", "elements"} {
			c.wantFile(b[key], fmt.Sprintf("%s/%d/%s", at, i, key), showable)
		}
	}
}

func (c *checker) wantFile(v any, at string, showable func(id string) bool) {
	switch v := v.(type) {
	case []any:
		for i, inner := range v {
			c.wantFile(inner, fmt.Sprintf("%s/%d", at, i), showable)
		}
	case wire.Object:
		if id := wire.Str(wire.Obj(v, "slack_file"), "id"); id != "" && !showable(id) {
			c.fault(at+"/slack_file", "invalid slack file")
		}
	}
}

// characters counts all text under v that people would read.
func characters(v any) int {
	n := 0
	switch v := v.(type) {
	case map[string]any:
		for key, inner := range v {
			if s, ok := inner.(string); ok && key == "text" {
				n += utf8.RuneCountInString(s)
				continue
			}
			n += characters(inner)
		}
	case []any:
		for _, inner := range v {
			n += characters(inner)
		}
	case []Block:
		for _, inner := range v {
			n += characters(inner)
		}
	}
	return n
}

// blocks checks each block by its shape, and then what holds between them.
func (c *checker) blocks(blocks []Block, at string, most int, on surface) {
	if len(blocks) > most {
		c.fault(at, "no more than %d items allowed", most)
	}
	each := typed(schema.groups["$"+string(on)])
	for i, b := range blocks {
		here := fmt.Sprintf("%s/%d", at, i)
		each(c, b, here)
		c.alternatives(b, here)
	}
	c.uniqueBlockIDs(blocks, at)
	elements := placedIn(blocks, at)
	c.uniqueActionIDs(elements)
	c.oneFocus(elements, at)
	for _, p := range elements {
		c.choices(p)
		c.lengths(p)
	}
}

// alternatives wants a section to say something, and an image to have one
// source.
func (c *checker) alternatives(b Block, at string) {
	kind := wire.Str(b, "type")
	if kind == "section" && b["text"] == nil && b["fields"] == nil {
		c.fault(at, "must define either `text` or `fields`")
	}
	if kind == "image" && (b["image_url"] == nil) == (b["slack_file"] == nil) {
		c.fault(at, "must define either `image_url` or `slack_file`")
	}
}

func (c *checker) uniqueBlockIDs(blocks []Block, at string) {
	seen := map[string]bool{}
	for i, b := range blocks {
		id := wire.Str(b, "block_id")
		if id != "" && seen[id] {
			c.fault(fmt.Sprintf("%s/%d/block_id", at, i), "`block_id` \"%s\" already exists", id)
		}
		seen[id] = true
	}
}

// uniqueActionIDs holds within each block only.
func (c *checker) uniqueActionIDs(elements []Placed) {
	seen := map[string]bool{}
	var in string
	for _, p := range elements {
		if p.blockAt != in {
			in, seen = p.blockAt, map[string]bool{}
		}
		id := p.ActionID()
		if id != "" && seen[id] {
			c.fault(p.pointer+"/action_id", "`action_id` \"%s\" already exists", id)
		}
		seen[id] = true
	}
}

func (c *checker) oneFocus(elements []Placed, at string) {
	n := 0
	for _, p := range elements {
		if wire.Flag(p.Element, "focus_on_load") {
			n++
		}
	}
	if n > 1 {
		c.fault(at, "no more than 1 `focus_on_load` allowed")
	}
}

// choices wants a menu to have options or groups, not both, and whatever is
// chosen at first to be among them. That it must be equal in every property
// is a reading of the reference pages.
func (c *checker) choices(p Placed) {
	switch p.Kind() {
	case "static_select", "multi_static_select":
		if (p.Element["options"] == nil) == (p.Element["option_groups"] == nil) {
			c.fault(p.pointer, "must define either `options` or `option_groups`")
		}
	case "checkboxes", "radio_buttons":
	default:
		return
	}
	options := OptionsOf(p.Element)
	if first := p.Element["initial_option"]; first != nil && !listed(options, first) {
		c.fault(p.pointer+"/initial_option", "must match one of the options")
	}
	for i, first := range wire.List(p.Element, "initial_options") {
		if !listed(options, first) {
			c.fault(fmt.Sprintf("%s/initial_options/%d", p.pointer, i), "must match one of the options")
		}
	}
}

// OptionsOf lists an element's options, those of its groups included.
func OptionsOf(el map[string]any) []map[string]any {
	out := objects(wire.List(el, "options"))
	for _, g := range objects(wire.List(el, "option_groups")) {
		out = append(out, objects(wire.List(g, "options"))...)
	}
	return out
}

// objects leaves out of a list what is no object.
func objects(list []any) []map[string]any {
	var out []map[string]any
	for _, item := range list {
		if o, ok := item.(map[string]any); ok {
			out = append(out, o)
		}
	}
	return out
}

func listed(options []map[string]any, wanted any) bool {
	return slices.ContainsFunc(options, func(o map[string]any) bool { return reflect.DeepEqual(any(o), wanted) })
}

// lengths wants what a text field starts with to fit the field.
func (c *checker) lengths(p Placed) {
	low, high := LengthLimits(p.Element)
	if low > high {
		c.fault(p.pointer, "`min_length` must not be more than `max_length`")
	}
	if first := wire.Str(p.Element, "initial_value"); p.Kind() == "plain_text_input" && utf8.RuneCountInString(first) > high {
		c.fault(p.pointer+"/initial_value", "must be less than %d characters", high+1)
	}
}

// LengthLimits is how many characters a text field takes.
func LengthLimits(el map[string]any) (low, high int) {
	high = longestText
	if n, ok := wire.Whole(el, "max_length"); ok {
		high = n
	}
	low, _ = wire.Whole(el, "min_length")
	return low, high
}

// heaviestView is how many bytes of JSON a view may have: 250 kB.
const heaviestView = 250_000

// CheckView refuses what views.open and its kin would refuse. want is the
// kind that may stand there: "modal" or "home". showable says whether the
// file of an id may stand in a picture. What it returns is a copy.
func CheckView(v any, want string, showable func(id string) bool) (wire.Object, []Block, error) {
	body, ok := wire.Clone(v).(map[string]any)
	if !ok {
		return nil, nil, wire.Refuse("invalid_arguments", "missing required field: view [json-pointer:/view]")
	}
	if len(wire.Encode(body)) > heaviestView {
		return nil, nil, wire.Refuse("view_too_large")
	}
	blocks, ok := BlockList(body["blocks"])
	if !ok {
		return nil, nil, wire.Refuse("invalid_arguments", "must provide an array [json-pointer:/view/blocks]")
	}
	c := &checker{}
	c.view(body, blocks, want)
	c.missingFiles(blocks, "/view/blocks", showable)
	if len(c.faults) > 0 {
		all := append([]string{"failed to match all allowed schemas [json-pointer:/view]"}, c.messages()...)
		return nil, nil, wire.Refuse("invalid_arguments", all...)
	}
	return body, blocks, nil
}

func (c *checker) view(body map[string]any, blocks []Block, kind string) {
	schema.named["view."+kind].check(c, body, "/view")
	c.blocks(blocks, "/view/blocks", mostViewBlocks, surface(kind))
	if kind != "modal" || body["submit"] != nil {
		return
	}
	for _, b := range blocks {
		if wire.Str(b, "type") == "input" {
			c.fault("/view", "`submit` is required when an `input` block is within blocks")
			return
		}
	}
}
