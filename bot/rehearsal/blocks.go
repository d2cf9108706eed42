package rehearsal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// A Block is one block of a message or view, decoded as it is. Numbers are
// json.Number.
type Block = map[string]any

// decodeJSON reads exactly one value, keeping numbers as written.
func decodeJSON(data []byte) (any, error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil {
		return nil, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, fmt.Errorf("more than one value")
	}
	return v, nil
}

// encodeJSON writes v with sorted keys and without HTML escapes, so that the
// same value always gives the same bytes.
func encodeJSON(v any) []byte {
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic(fmt.Sprintf("rehearsal: %T does not encode: %v", v, err)) // all values here came from JSON or are plain
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n"))
}

func blocksJSON(blocks []Block) json.RawMessage {
	if blocks == nil {
		return json.RawMessage("[]")
	}
	return encodeJSON(blocks)
}

// DecodeBlocks reads a JSON list of blocks, for example of a typed client's.
func DecodeBlocks(data []byte) ([]Block, error) {
	v, err := decodeJSON(data)
	if err != nil {
		return nil, fmt.Errorf("read blocks: %w", err)
	}
	blocks, ok := blockList(v)
	if !ok {
		return nil, fmt.Errorf("read blocks: not a list of objects")
	}
	return blocks, nil
}

// blockList turns a decoded value into blocks; nothing at all is no blocks.
func blockList(v any) ([]Block, bool) {
	if v == nil {
		return nil, true
	}
	list, ok := v.([]any)
	if !ok {
		return nil, false
	}
	blocks := make([]Block, 0, len(list))
	for _, item := range list {
		b, ok := item.(map[string]any)
		if !ok {
			return nil, false
		}
		blocks = append(blocks, b)
	}
	return blocks, true
}

// cloneJSON copies a decoded value to the bottom.
func cloneJSON(v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := make(map[string]any, len(v))
		for key, inner := range v {
			out[key] = cloneJSON(inner)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, inner := range v {
			out[i] = cloneJSON(inner)
		}
		return out
	}
	return v
}

// str, obj, list and flag read one property; a missing one, or one of
// another type, is the zero value.
func str(m map[string]any, key string) string {
	s, _ := m[key].(string)
	return s
}

func obj(m map[string]any, key string) map[string]any {
	o, _ := m[key].(map[string]any)
	return o
}

func list(m map[string]any, key string) []any {
	l, _ := m[key].([]any)
	return l
}

func flag(m map[string]any, key string) bool {
	b, _ := m[key].(bool)
	return b
}

func whole(m map[string]any, key string) (int, bool) {
	n, ok := m[key].(json.Number)
	if !ok {
		return 0, false
	}
	i, err := n.Int64()
	return int(i), err == nil
}

// A placed element is an interactive element and the block it stands in.
type placed struct {
	block   Block
	element map[string]any
	blockAt string // pointer to the block
	pointer string // to the element
}

func (p placed) blockID() string  { return str(p.block, "block_id") }
func (p placed) actionID() string { return str(p.element, "action_id") }
func (p placed) kind() string     { return str(p.element, "type") }
func (p placed) inInput() bool    { return str(p.block, "type") == "input" }

// visibleTo reports whether the app shows the element to user.
func (p placed) visibleTo(user string) bool {
	only := list(p.element, "visible_to_user_ids")
	for _, id := range only {
		if id == user {
			return true
		}
	}
	return len(only) == 0
}

// placedIn finds every interactive element, in reading order. Containers and
// carousels hold blocks of their own.
func placedIn(blocks []Block, at string) []placed {
	var out []placed
	for i, b := range blocks {
		here := fmt.Sprintf("%s/%d", at, i)
		out = append(out, ownElements(b, here)...)
		for _, nest := range []string{"child_blocks", "elements"} {
			if inner, ok := blockList(b[nest]); ok && holdsBlocks(str(b, "type")) {
				out = append(out, placedIn(inner, here+"/"+nest)...)
			}
		}
	}
	return out
}

func holdsBlocks(kind string) bool { return kind == "container" || kind == "carousel" }

func ownElements(b Block, at string) []placed {
	var out []placed
	take := func(v any, pointer string) {
		el, ok := v.(map[string]any)
		if ok && isInteractive(str(el, "type")) {
			out = append(out, placed{block: b, element: el, blockAt: at, pointer: pointer})
		}
	}
	take(b["accessory"], at+"/accessory")
	take(b["element"], at+"/element")
	for _, key := range []string{"elements", "actions"} {
		for i, el := range list(b, key) {
			take(el, fmt.Sprintf("%s/%s/%d", at, key, i))
		}
	}
	return out
}

// isInteractive tells elements that people act on from text and pictures.
func isInteractive(kind string) bool {
	switch kind {
	case "button", "icon_button", "feedback_buttons", "overflow", "checkboxes", "radio_buttons",
		"datepicker", "timepicker", "datetimepicker",
		"plain_text_input", "number_input", "email_text_input", "url_text_input", "rich_text_input", "file_input":
		return true
	}
	return strings.HasSuffix(kind, "_select")
}

// find returns the element with these ids. An empty blockID matches any
// block, as the action id mostly tells enough.
func find(elements []placed, blockID, actionID string) (placed, bool) {
	for _, p := range elements {
		if p.actionID() == actionID && (blockID == "" || p.blockID() == blockID) {
			return p, true
		}
	}
	return placed{}, false
}

// nameParts gives an id to every block and element that came without, as the
// platform does. The ids are new each time: who wants typed values to outlive
// an update has to name things.
func (w *Workspace) nameParts(blocks []Block) {
	for _, b := range blocks {
		if str(b, "block_id") == "" {
			b["block_id"] = strings.ToLower(w.nextID("B~"))
		}
		for _, nest := range []string{"child_blocks", "elements"} {
			if inner, ok := blockList(b[nest]); ok && holdsBlocks(str(b, "type")) {
				w.nameParts(inner)
			}
		}
	}
	for _, p := range placedIn(blocks, "") {
		if p.actionID() == "" {
			p.element["action_id"] = strings.ToLower(w.nextID("A~"))
		}
	}
}
