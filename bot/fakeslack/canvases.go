package fakeslack

import (
	"slices"
	"strings"

	"soundings/bot/fakeslack/wire"
)

// A Canvas is a page of Markdown, of a channel, in a tab of it, or on its own.
type Canvas struct {
	ID, Channel, Title string // Channel is empty for one on its own
	Markdown           string
}

// canvases are all pages that were made.
type canvases struct {
	*core
	dir  *directory
	byID map[string]*Canvas
	ids  []string
}

// Canvases lists them in the order in which they were made.
func (t *Team) Canvases() []Canvas {
	t.mu.Lock()
	defer t.mu.Unlock()
	var out []Canvas
	for _, id := range t.canvases.ids {
		out = append(out, *t.canvases.byID[id])
	}
	return out
}

// canvasText is the Markdown of a document_content argument; none at all is
// an empty page.
func canvasText(v any) (string, error) {
	if v == nil {
		return "", nil
	}
	o, ok := v.(map[string]any)
	if !ok || wire.Str(o, "type") != "markdown" {
		return "", wire.Refuse("invalid_arguments", "must be a valid enum value [json-pointer:/document_content/type]")
	}
	return wire.Str(o, "markdown"), nil
}

// newCanvas makes a canvas: the channel's own, a tab of it, or one that stands
// alone. A free plan has room for one in a channel, and none outside.
func (cs *canvases) newCanvas(c *channel, own bool, title string, content any) (reply, error) {
	if cs.cfg.NoCanvases {
		return nil, wire.Refuse("canvas_disabled_user_team")
	}
	page, err := canvasText(content)
	if err == nil {
		err = canvasTaken("canvas_creation_failed", page)
	}
	switch {
	case err != nil:
		return nil, err
	case cs.cfg.FreePlan && c == nil:
		return nil, wire.Refuse("free_teams_cannot_create_non_tabbed_canvases")
	case cs.cfg.FreePlan && (c.Canvas != "" || len(c.Tabs) > 0):
		return nil, wire.Refuse("free_team_canvas_tab_already_exists")
	case own && c.Canvas != "":
		return nil, wire.Refuse("channel_canvas_already_exists")
	}
	canvas := &Canvas{ID: cs.nextID("F"), Title: title, Markdown: page}
	switch {
	case own:
		canvas.Channel, c.Canvas = c.ID, canvas.ID
	case c != nil:
		canvas.Channel, c.Tabs = c.ID, append(c.Tabs, canvas.ID)
	}
	cs.byID[canvas.ID] = canvas
	cs.ids = append(cs.ids, canvas.ID)
	return reply{"canvas_id": canvas.ID}, nil
}

// create makes a canvas in a tab of a channel, or on its own.
func (cs *canvases) create(a args) (reply, error) {
	var c *channel
	if id := a.str("channel_id"); id != "" {
		var err error
		if c, err = cs.dir.joined(id); err != nil {
			return nil, err
		}
	}
	return cs.newCanvas(c, false, a.str("title"), a.values["document_content"])
}

func (cs *canvases) createIn(c *channel, a args) (reply, error) {
	return cs.newCanvas(c, true, a.str("title"), a.values["document_content"])
}

// delete also takes the canvas out of its channel.
func (cs *canvases) delete(a args) (reply, error) {
	id := a.str("canvas_id")
	canvas, ok := cs.byID[id]
	if !ok {
		return nil, wire.Refuse("canvas_not_found")
	}
	if c := cs.dir.channels[canvas.Channel]; c != nil {
		if c.Canvas == id {
			c.Canvas = ""
		}
		c.Tabs = slices.DeleteFunc(c.Tabs, func(t string) bool { return t == id })
	}
	delete(cs.byID, id)
	cs.ids = slices.DeleteFunc(cs.ids, func(x string) bool { return x == id })
	return nil, nil
}

// edit takes one change at a time, as the platform does. Sections
// cannot be looked up here, so changes to one are refused.
func (cs *canvases) edit(a args) (reply, error) {
	changes, _ := a.values["changes"].([]any)
	switch {
	case len(changes) == 0:
		return nil, wire.Refuse("invalid_arguments", "missing required field: changes")
	case len(changes) > 1:
		return nil, wire.Refuse("invalid_arguments", "no more than 1 items allowed [json-pointer:/changes]")
	}
	canvas, ok := cs.byID[a.str("canvas_id")]
	if !ok {
		return nil, wire.Refuse("canvas_not_found")
	}
	if cs.cfg.NoCanvases {
		return nil, wire.Refuse("canvas_disabled_user_team")
	}
	if cs.cfg.FreePlan && canvas.Channel == "" {
		return nil, wire.Refuse("free_teams_cannot_edit_standalone_canvases")
	}
	change, _ := changes[0].(map[string]any)
	return nil, canvas.change(change)
}

func (canvas *Canvas) change(change map[string]any) error {
	if wire.Str(change, "section_id") != "" {
		return wire.Refuse("canvas_editing_failed", "there is no such section")
	}
	if wire.Str(change, "operation") == "rename" {
		canvas.Title = wire.Str(wire.Obj(change, "title_content"), "markdown")
		return nil
	}
	page, err := canvasText(change["document_content"])
	if err == nil {
		err = canvasTaken("canvas_editing_failed", page)
	}
	if err != nil {
		return err
	}
	switch wire.Str(change, "operation") {
	case "replace":
		canvas.Markdown = page
	case "insert_at_start":
		canvas.Markdown = joinPages(page, canvas.Markdown)
	case "insert_at_end":
		canvas.Markdown = joinPages(canvas.Markdown, page)
	default:
		return wire.Refuse("invalid_arguments", "must be a valid enum value [json-pointer:/changes/0/operation]")
	}
	return nil
}

func joinPages(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return strings.TrimRight(a, "\n") + "\n\n" + strings.TrimLeft(b, "\n")
}
