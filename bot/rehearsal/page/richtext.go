package page

import (
	"fmt"
	"html/template"
	"strings"
	"time"

	"soundings/bot/fakeslack/wire"
)

// richText draws the parts of a rich_text block in their order.
func (p *painter) richText(parts []any) template.HTML {
	var out strings.Builder
	for i := 0; i < len(parts); i++ {
		part, _ := parts[i].(map[string]any)
		inner := func() template.HTML { return p.pieces(wire.List(part, "elements")) }
		switch kind := wire.Str(part, "type"); kind {
		case "rich_text_section":
			fmt.Fprintf(&out, "<p>%s</p>", inner())
		case "rich_text_quote":
			fmt.Fprintf(&out, "<blockquote><p>%s</p></blockquote>", inner())
		case "rich_text_preformatted":
			fmt.Fprintf(&out, `<pre tabindex="0">%s</pre>`, p.literal(wire.List(part, "elements")))
		case "rich_text_list":
			out.WriteString(string(p.richList(part)))
		default:
			out.WriteString(string(p.fault("rich text of type %q", kind)))
		}
	}
	return template.HTML(out.String())
}

// richList draws one list; a deeper one is set in by its own margin.
func (p *painter) richList(part map[string]any) template.HTML {
	tag, start := "ul", ""
	if wire.Str(part, "style") == "ordered" {
		tag = "ol"
		if offset, ok := wire.Whole(part, "offset"); ok && offset > 0 {
			start = fmt.Sprintf(` start="%d"`, offset+1)
		}
	}
	indent, _ := wire.Whole(part, "indent")
	var out strings.Builder
	fmt.Fprintf(&out, `<%s class="in%d"%s>`, tag, min(indent, 4), start)
	for _, item := range wire.List(part, "elements") {
		o, _ := item.(map[string]any)
		if kind := wire.Str(o, "type"); kind != "rich_text_section" {
			out.WriteString(string(p.fault("a list's entry of type %q", kind)))
		}
		fmt.Fprintf(&out, "<li>%s</li>", p.pieces(wire.List(o, "elements")))
	}
	fmt.Fprintf(&out, "</%s>", tag)
	return template.HTML(out.String())
}

func (p *painter) pieces(pieces []any) template.HTML {
	var out strings.Builder
	for _, piece := range pieces {
		o, _ := piece.(map[string]any)
		out.WriteString(string(styledPiece(p.piece(o), wire.Obj(o, "style"))))
	}
	return template.HTML(out.String())
}

// literal is text with nothing added but escapes: its line breaks count.
func (p *painter) literal(pieces []any) string {
	var out strings.Builder
	for _, piece := range pieces {
		o, _ := piece.(map[string]any)
		switch wire.Str(o, "type") {
		case "text":
			out.WriteString(escapeHTML(wire.Str(o, "text")))
		default:
			out.WriteString(string(p.piece(o)))
		}
	}
	return out.String()
}

func (p *painter) piece(o map[string]any) template.HTML {
	switch kind := wire.Str(o, "type"); kind {
	case "text":
		return lines(escapeHTML(wire.Str(o, "text")))
	case "link":
		return p.link(wire.Str(o, "url"), wire.Str(o, "text"))
	case "user":
		return p.mention(wire.Str(o, "user_id"))
	case "channel":
		return p.place(wire.Str(o, "channel_id"))
	case "broadcast":
		return p.called("@" + wire.Str(o, "range"))
	case "emoji":
		return template.HTML(escapeHTML(":" + wire.Str(o, "name") + ":"))
	case "date":
		seconds, ok := wire.Whole(o, "timestamp")
		if !ok {
			return template.HTML(escapeHTML(wire.Str(o, "fallback")))
		}
		return p.moment(time.Unix(int64(seconds), 0), wire.Str(o, "format"))
	default:
		return p.fault("a piece of type %q", kind)
	}
}

func styledPiece(html template.HTML, style map[string]any) template.HTML {
	for _, s := range [][2]string{{"code", "code"}, {"bold", "strong"}, {"italic", "em"}, {"strike", "s"}, {"underline", "u"}} {
		if wire.Flag(style, s[0]) {
			html = template.HTML("<" + s[1] + ">" + string(html) + "</" + s[1] + ">")
		}
	}
	return html
}
