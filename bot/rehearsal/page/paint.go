package page

import (
	"fmt"
	"hash/fnv"
	"html/template"
	"net/url"
	"strings"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
)

// A painter turns the blocks of one message or form into what the templates
// draw, as one person sees them. What it cannot draw it says in place, and
// keeps in faults.
type painter struct {
	team    *fakeslack.Team
	viewer  fakeslack.User
	zone    *time.Location
	now     time.Time
	surface string // the message or form, to tell ids on the page apart
	state   blockkit.State
	errors  map[string]string // by block id
	faults  []error
	alike   map[string]int
	top     bool   // its headings come right below the page's own
	caption string // id of the last text, which says what the controls below it are about
}

func newPainter(team *fakeslack.Team, viewer fakeslack.User, surface string, state blockkit.State) *painter {
	zone, err := time.LoadLocation(viewer.Zone)
	if err != nil {
		zone = time.UTC
	}
	return &painter{team: team, viewer: viewer, zone: zone, now: team.Now(), surface: surface, state: state, alike: map[string]int{}}
}

// fault notes something that cannot be drawn.
func (p *painter) fault(format string, args ...any) template.HTML {
	err := fmt.Errorf("the page cannot draw "+format, args...)
	p.faults = append(p.faults, err)
	return `<strong class="undrawn">` + escaped(err.Error()) + `</strong>`
}

// id names something on the page: the same thing gets the same id each time.
func (p *painter) id(parts ...string) string {
	h := fnv.New64a()
	for _, part := range append([]string{p.surface}, parts...) {
		_, _ = h.Write([]byte(part + "\x00")) // a hash never fails
	}
	return fmt.Sprintf("e%x", h.Sum64())
}

// nth is an id for something of which there may be several alike.
func (p *painter) nth(parts ...string) string {
	id := p.id(parts...)
	p.alike[id]++
	if n := p.alike[id]; n > 1 {
		return fmt.Sprintf("%s-%d", id, n)
	}
	return id
}

// given is a block's id if the bot has chosen it; those that the team
// makes up change with every update.
func given(blockID string) string {
	if strings.HasPrefix(blockID, "b~") {
		return ""
	}
	return blockID
}

// A drawnBlock is one block for the templates.
type drawnBlock struct {
	Kind        string
	ID          string // on the page
	TextID      string // of its text, where it has one
	Level       int    // of a heading
	Top         bool   // right below the page's own heading
	HTML        template.HTML
	Fields      []template.HTML
	Accessory   *drawnElement
	Elements    []drawnElement
	Picture     *drawnPicture
	About       string // id of the text that the controls are about
	Label, Hint string
	Error       string
	Optional    bool
	Grouped     bool // a label for several controls
}

// A drawnPicture is a picture from the team's own files; one from
// elsewhere is not fetched and has no Src.
type drawnPicture struct{ Src, Link, Alt, Title string }

// blocks draws them in order.
func (p *painter) blocks(blocks []blockkit.Block) []drawnBlock {
	out := make([]drawnBlock, 0, len(blocks))
	for _, b := range blocks {
		d := p.block(b)
		d.ID = p.nth("block", given(wire.Str(b, "block_id")), d.Kind)
		if d.HTML != "" || len(d.Fields) > 0 {
			d.TextID = d.ID + "t"
			p.caption = d.TextID
		}
		out = append(out, d)
	}
	return out
}

func (p *painter) block(b blockkit.Block) drawnBlock {
	switch kind := wire.Str(b, "type"); kind {
	case "section":
		return p.section(b)
	case "rich_text":
		return drawnBlock{Kind: "rich", HTML: each(wire.List(b, "elements"), p.richText)}
	case "header":
		level, _ := wire.Whole(b, "level")
		return drawnBlock{Kind: "header", Level: max(level, 1), Top: p.top, HTML: p.textObject(wire.Obj(b, "text"))}
	case "context":
		return p.context(b)
	case "divider":
		return drawnBlock{Kind: "divider"}
	case "actions":
		return drawnBlock{Kind: "actions", Elements: p.elements(b), About: p.caption}
	case "input":
		return p.input(b)
	case "image":
		return drawnBlock{Kind: "image", Picture: p.picture(b)}
	default:
		return drawnBlock{Kind: "undrawn", HTML: p.fault("a block of type %q", kind)}
	}
}

func (p *painter) section(b blockkit.Block) drawnBlock {
	d := drawnBlock{Kind: "section", HTML: p.textObject(wire.Obj(b, "text"))}
	for _, f := range wire.List(b, "fields") {
		o, _ := f.(map[string]any)
		d.Fields = append(d.Fields, p.textObject(o))
	}
	if a := wire.Obj(b, "accessory"); a != nil {
		e := p.element(blockkit.Placed{Block: b, Element: a})
		d.Accessory = &e
	}
	return d
}

func (p *painter) context(b blockkit.Block) drawnBlock {
	d := drawnBlock{Kind: "context"}
	for _, e := range wire.List(b, "elements") {
		o, _ := e.(map[string]any)
		if wire.Str(o, "type") == "image" {
			d.Elements = append(d.Elements, drawnElement{Kind: "image", Picture: p.picture(o)})
			continue
		}
		d.Fields = append(d.Fields, p.textObject(o))
	}
	return d
}

func (p *painter) elements(b blockkit.Block) []drawnElement {
	var out []drawnElement
	for _, e := range wire.List(b, "elements") {
		o, _ := e.(map[string]any)
		at := blockkit.Placed{Block: b, Element: o}
		if at.VisibleTo(p.viewer.ID) {
			out = append(out, p.element(at))
		}
	}
	return out
}

func (p *painter) input(b blockkit.Block) drawnBlock {
	at := blockkit.Placed{Block: b, Element: wire.Obj(b, "element")}
	d := drawnBlock{
		Kind: "input", Label: blockkit.Words(b["label"]), Hint: blockkit.Words(b["hint"]),
		Optional: wire.Flag(b, "optional"), Error: p.errors[at.BlockID()],
	}
	e := p.element(at)
	d.Grouped = e.Kind == "radios" || e.Kind == "boxes"
	e.Invalid, e.Required = d.Error != "", !d.Optional
	d.Elements = []drawnElement{e}
	return d
}

func (p *painter) picture(o map[string]any) *drawnPicture {
	d := &drawnPicture{Alt: wire.Str(o, "alt_text"), Title: blockkit.Words(o["title"])}
	id := wire.Str(wire.Obj(o, "slack_file"), "id")
	if f, ok := p.team.File(id); ok {
		d.Src = filePath(f)
		return d
	}
	d.Link = wire.Str(o, "image_url")
	return d
}

// filePath is where the team beside the page serves a file.
func filePath(f fakeslack.File) string { return "/files/" + f.ID + "/" + url.PathEscape(f.Name) }
