package blockkit

import "soundings/bot/fakeslack/wire"

// heaviestView is how many bytes of JSON a view may have: 250 kB.
const heaviestView = 250_000

// CheckView refuses what views.open and its kin would refuse. want is the
// kind that may stand there: "modal" or "home". uploaded says whether there is
// a file of an id. What it returns is a copy.
func CheckView(v any, want string, uploaded func(id string) bool) (wire.Object, []Block, error) {
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
	c.missingFiles(blocks, "/view/blocks", uploaded)
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
