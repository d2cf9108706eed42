package page

import (
	"fmt"
	"html/template"
	"strings"
	"time"

	"soundings/bot/fakeslack/wire"
)

// each draws the objects of a list one after the other.
func each(list []any, draw func(o wire.Object) template.HTML) template.HTML {
	var out strings.Builder
	for _, one := range list {
		o, _ := one.(wire.Object)
		out.WriteString(string(draw(o)))
	}
	return template.HTML(out.String())
}

// richText draws one part of a rich_text block.
func (p *painter) richText(part wire.Object) template.HTML {
	elements := wire.List(part, "elements")
	switch kind := wire.Str(part, "type"); kind {
	case "rich_text_section":
		return "<p>" + each(elements, p.piece) + "</p>"
	case "rich_text_quote":
		return "<blockquote><p>" + each(elements, p.piece) + "</p></blockquote>"
	case "rich_text_preformatted":
		return `<pre tabindex="0">` + each(elements, p.literal) + "</pre>"
	case "rich_text_list":
		return p.richList(part)
	default:
		return p.fault("rich text of type %q", kind)
	}
}

// richList draws one list; a deeper one is set in by its own margin.
func (p *painter) richList(part wire.Object) template.HTML {
	tag, start := "ul", ""
	if wire.Str(part, "style") == "ordered" {
		tag = "ol"
		if offset, ok := wire.Whole(part, "offset"); ok && offset > 0 {
			start = fmt.Sprintf(` start="%d"`, offset+1)
		}
	}
	indent, _ := wire.Whole(part, "indent")
	items := each(wire.List(part, "elements"), func(o wire.Object) template.HTML {
		var fault template.HTML
		if kind := wire.Str(o, "type"); kind != "rich_text_section" {
			fault = p.fault("a list's entry of type %q", kind)
		}
		return fault + "<li>" + each(wire.List(o, "elements"), p.piece) + "</li>"
	})
	return template.HTML(fmt.Sprintf(`<%s class="in%d"%s>%s</%s>`, tag, min(indent, 4), start, items, tag))
}

// literal is text with nothing added but escapes: its line breaks count.
func (p *painter) literal(o wire.Object) template.HTML {
	if wire.Str(o, "type") == "text" {
		return escaped(wire.Str(o, "text"))
	}
	return p.plainPiece(o)
}

// styles are those of a piece of rich text with their tags, the inmost first.
var styles = [][2]string{{"code", "code"}, {"bold", "strong"}, {"italic", "em"}, {"strike", "s"}, {"underline", "u"}}

func (p *painter) piece(o wire.Object) template.HTML {
	html := p.plainPiece(o)
	for _, s := range styles {
		if wire.Flag(wire.Obj(o, "style"), s[0]) {
			html = template.HTML("<" + s[1] + ">" + string(html) + "</" + s[1] + ">")
		}
	}
	return html
}

func (p *painter) plainPiece(o wire.Object) template.HTML {
	switch kind := wire.Str(o, "type"); kind {
	case "text":
		return lines(escaped(wire.Str(o, "text")))
	case "link":
		return p.link(wire.Str(o, "url"), wire.Str(o, "text"))
	case "user":
		return p.mention(wire.Str(o, "user_id"))
	case "channel":
		return p.place(wire.Str(o, "channel_id"))
	case "broadcast":
		return called("@" + wire.Str(o, "range"))
	case "emoji":
		return escaped(":" + wire.Str(o, "name") + ":")
	case "date":
		seconds, ok := wire.Whole(o, "timestamp")
		if !ok {
			return escaped(wire.Str(o, "fallback"))
		}
		return p.moment(time.Unix(int64(seconds), 0), wire.Str(o, "format"))
	default:
		return p.fault("a piece of type %q", kind)
	}
}
