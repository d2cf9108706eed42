package blockkit

import (
	"fmt"
	"slices"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// A Block is one block of a message or view, decoded as it is. Numbers are
// json.Number.
type Block = map[string]any

// BlockList turns a decoded value into blocks; nothing at all is no blocks.
func BlockList(v any) ([]Block, bool) {
	if v == nil {
		return nil, true
	}
	list, ok := v.([]any)
	if !ok {
		return nil, false
	}
	blocks := append([]Block{}, objects(list)...) // an empty list stays one
	return blocks, len(blocks) == len(list)
}

// A Placed is an interactive element and the block it stands in.
type Placed struct {
	Block   Block
	Element wire.Object
	blockAt string // pointer to the block
	pointer string // to the element
}

// BlockID, ActionID and Kind are the ids and the type of the element.
func (p Placed) BlockID() string  { return wire.Str(p.Block, "block_id") }
func (p Placed) ActionID() string { return wire.Str(p.Element, "action_id") }
func (p Placed) Kind() string     { return wire.Str(p.Element, "type") }

// InInput reports whether the element is a field of a form.
func (p Placed) InInput() bool { return wire.Str(p.Block, "type") == "input" }

// VisibleTo reports whether the app shows the element to user.
func (p Placed) VisibleTo(user string) bool {
	only := wire.List(p.Element, "visible_to_user_ids")
	return len(only) == 0 || slices.Contains(only, any(user))
}

// Interactive finds every interactive element, in reading order.
func Interactive(blocks []Block) []Placed { return placedIn(blocks, "") }

func placedIn(blocks []Block, at string) []Placed {
	var out []Placed
	for i, b := range blocks {
		out = append(out, ownElements(b, fmt.Sprintf("%s/%d", at, i))...)
	}
	return out
}

func ownElements(b Block, at string) []Placed {
	var out []Placed
	take := func(v any, pointer string) {
		el, ok := v.(map[string]any)
		if ok && isInteractive(wire.Str(el, "type")) {
			out = append(out, Placed{Block: b, Element: el, blockAt: at, pointer: pointer})
		}
	}
	take(b["accessory"], at+"/accessory")
	take(b["element"], at+"/element")
	for i, el := range wire.List(b, "elements") {
		take(el, fmt.Sprintf("%s/elements/%d", at, i))
	}
	return out
}

// isInteractive tells elements that people act on from text and pictures.
func isInteractive(kind string) bool {
	_, keepsValue := valueFields[kind]
	return keepsValue || kind == "button"
}

// Find returns the element with these ids. An empty blockID matches any
// block, as the action id mostly tells enough.
func Find(elements []Placed, blockID, actionID string) (Placed, bool) {
	for _, p := range elements {
		if p.ActionID() == actionID && (blockID == "" || p.BlockID() == blockID) {
			return p, true
		}
	}
	return Placed{}, false
}

// NameParts gives an id to every block and element that came without, as the
// platform does. The ids are new each time: who wants typed values to outlive
// an update has to name things.
func NameParts(blocks []Block, newID func(prefix string) string) {
	for _, b := range blocks {
		if wire.Str(b, "block_id") == "" {
			b["block_id"] = strings.ToLower(newID("B~"))
		}
	}
	for _, p := range Interactive(blocks) {
		if p.ActionID() == "" {
			p.Element["action_id"] = strings.ToLower(newID("A~"))
		}
	}
}
