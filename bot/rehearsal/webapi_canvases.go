package rehearsal

import "strings"

// A Canvas is a page of Markdown, of a channel or on its own.
type Canvas struct {
	ID, Channel, Title string // Channel is empty for one on its own
	Markdown           string
}

// Canvases lists them in the order in which they were made.
func (w *Workspace) Canvases() []Canvas {
	w.mu.Lock()
	defer w.mu.Unlock()
	var out []Canvas
	for _, id := range w.canvasIDs {
		out = append(out, *w.canvases[id])
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
	if !ok || str(o, "type") != "markdown" {
		return "", refuse("invalid_arguments", "must be a valid enum value [json-pointer:/document_content/type]")
	}
	return str(o, "markdown"), nil
}

func (w *Workspace) newCanvas(c *channel, title string, content any) (reply, error) {
	if w.cfg.NoCanvases {
		return nil, refuse("canvas_disabled_user_team")
	}
	page, err := canvasText(content)
	if err != nil {
		return nil, err
	}
	canvas := &Canvas{ID: w.nextID("F"), Title: title, Markdown: page}
	if c != nil {
		if c.Canvas != "" {
			return nil, refuse("channel_canvas_already_exists")
		}
		canvas.Channel, c.Canvas = c.ID, canvas.ID
	}
	w.canvases[canvas.ID] = canvas
	w.canvasIDs = append(w.canvasIDs, canvas.ID)
	return reply{"canvas_id": canvas.ID}, nil
}

func (w *Workspace) canvasesCreate(a args) (reply, error) {
	id := a.str("channel_id")
	if id == "" {
		return w.newCanvas(nil, a.str("title"), a.values["document_content"])
	}
	c, err := w.joined(id)
	if err != nil {
		return nil, err
	}
	return w.newCanvas(c, a.str("title"), a.values["document_content"])
}

func (w *Workspace) channelCanvasCreate(a args) (reply, error) {
	c, err := w.joined(a.str("channel_id"))
	if err != nil {
		return nil, err
	}
	return w.newCanvas(c, a.str("title"), a.values["document_content"])
}

// canvasesEdit takes one change at a time, as the platform does. Sections
// cannot be looked up here, so changes to one are refused.
func (w *Workspace) canvasesEdit(a args) (reply, error) {
	changes, _ := a.values["changes"].([]any)
	switch {
	case len(changes) == 0:
		return nil, refuse("invalid_arguments", "missing required field: changes")
	case len(changes) > 1:
		return nil, refuse("invalid_arguments", "no more than 1 items allowed [json-pointer:/changes]")
	}
	canvas, ok := w.canvases[a.str("canvas_id")]
	if !ok {
		return nil, refuse("canvas_not_found")
	}
	change, _ := changes[0].(map[string]any)
	return nil, canvas.change(change)
}

func (canvas *Canvas) change(change map[string]any) error {
	if str(change, "section_id") != "" {
		return refuse("canvas_editing_failed", "there is no such section")
	}
	if str(change, "operation") == "rename" {
		canvas.Title = str(obj(change, "title_content"), "markdown")
		return nil
	}
	page, err := canvasText(change["document_content"])
	if err != nil {
		return err
	}
	switch str(change, "operation") {
	case "replace":
		canvas.Markdown = page
	case "insert_at_start":
		canvas.Markdown = joinPages(page, canvas.Markdown)
	case "insert_at_end":
		canvas.Markdown = joinPages(canvas.Markdown, page)
	default:
		return refuse("invalid_arguments", "must be a valid enum value [json-pointer:/changes/0/operation]")
	}
	return nil
}

func joinPages(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return strings.TrimRight(a, "\n") + "\n\n" + strings.TrimLeft(b, "\n")
}
