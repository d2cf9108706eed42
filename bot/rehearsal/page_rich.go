package rehearsal

import (
	"fmt"
	"html/template"
	"strings"
	"time"
)

// richText draws the parts of a rich_text block in their order.
func (p *painter) richText(parts []any) template.HTML {
	var out strings.Builder
	for i := 0; i < len(parts); i++ {
		part, _ := parts[i].(map[string]any)
		inner := func() template.HTML { return p.pieces(list(part, "elements")) }
		switch kind := str(part, "type"); kind {
		case "rich_text_section":
			fmt.Fprintf(&out, "<p>%s</p>", inner())
		case "rich_text_quote":
			fmt.Fprintf(&out, "<blockquote><p>%s</p></blockquote>", inner())
		case "rich_text_preformatted":
			fmt.Fprintf(&out, `<pre tabindex="0">%s</pre>`, p.literal(list(part, "elements")))
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
	if str(part, "style") == "ordered" {
		tag = "ol"
		if offset, ok := whole(part, "offset"); ok && offset > 0 {
			start = fmt.Sprintf(` start="%d"`, offset+1)
		}
	}
	indent, _ := whole(part, "indent")
	var out strings.Builder
	fmt.Fprintf(&out, `<%s class="in%d"%s>`, tag, min(indent, 4), start)
	for _, item := range list(part, "elements") {
		o, _ := item.(map[string]any)
		if kind := str(o, "type"); kind != "rich_text_section" {
			out.WriteString(string(p.fault("a list's entry of type %q", kind)))
		}
		fmt.Fprintf(&out, "<li>%s</li>", p.pieces(list(o, "elements")))
	}
	fmt.Fprintf(&out, "</%s>", tag)
	return template.HTML(out.String())
}

func (p *painter) pieces(pieces []any) template.HTML {
	var out strings.Builder
	for _, piece := range pieces {
		o, _ := piece.(map[string]any)
		out.WriteString(string(styledPiece(p.piece(o), obj(o, "style"))))
	}
	return template.HTML(out.String())
}

// literal is text with nothing added but escapes: its line breaks count.
func (p *painter) literal(pieces []any) string {
	var out strings.Builder
	for _, piece := range pieces {
		o, _ := piece.(map[string]any)
		switch str(o, "type") {
		case "text":
			out.WriteString(escapeHTML(str(o, "text")))
		default:
			out.WriteString(string(p.piece(o)))
		}
	}
	return out.String()
}

func (p *painter) piece(o map[string]any) template.HTML {
	switch kind := str(o, "type"); kind {
	case "text":
		return lines(escapeHTML(str(o, "text")))
	case "link":
		return p.link(str(o, "url"), str(o, "text"))
	case "user":
		return p.mention(str(o, "user_id"))
	case "channel":
		return p.place(str(o, "channel_id"))
	case "broadcast":
		return p.called("@" + str(o, "range"))
	case "emoji":
		return template.HTML(escapeHTML(":" + str(o, "name") + ":"))
	case "date":
		seconds, ok := whole(o, "timestamp")
		if !ok {
			return template.HTML(escapeHTML(str(o, "fallback")))
		}
		return p.moment(time.Unix(int64(seconds), 0), str(o, "format"))
	default:
		return p.fault("a piece of type %q", kind)
	}
}

func styledPiece(html template.HTML, style map[string]any) template.HTML {
	for _, s := range [][2]string{{"code", "code"}, {"bold", "strong"}, {"italic", "em"}, {"strike", "s"}, {"underline", "u"}} {
		if flag(style, s[0]) {
			html = template.HTML("<" + s[1] + ">" + string(html) + "</" + s[1] + ">")
		}
	}
	return html
}
