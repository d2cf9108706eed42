package page

import (
	"fmt"
	"html/template"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"

	"soundings/bot/fakeslack/wire"
)

// How the page draws words: text objects, mentions and moments, each as the
// person before the page reads them.

// textObject draws a plain_text or mrkdwn object.
func (p *painter) textObject(o map[string]any) template.HTML {
	if o == nil {
		return ""
	}
	switch kind := wire.Str(o, "type"); kind {
	case "plain_text":
		return lines(escapeHTML(wire.Str(o, "text")))
	case "mrkdwn":
		return p.mrkdwn(wire.Str(o, "text"))
	default:
		return p.fault("text of type %q", kind)
	}
}

// lines keeps line breaks.
func lines(html string) template.HTML {
	return template.HTML(strings.ReplaceAll(html, "\n", "<br>")) //nolint:gosec // its callers escape
}

func escapeHTML(s string) string { return template.HTMLEscapeString(s) }

// reference is what stands between < and > in text that is parsed.
var reference = regexp.MustCompile(`<([^<>\n]+)>`)

// mrkdwn draws text that is parsed: references, and the marks for strong,
// slanted, struck and code.
func (p *painter) mrkdwn(s string) template.HTML {
	var out strings.Builder
	at := 0
	for _, span := range reference.FindAllStringSubmatchIndex(s, -1) {
		out.WriteString(marked(s[at:span[0]]))
		out.WriteString(string(p.reference(s[span[2]:span[3]])))
		at = span[1]
	}
	out.WriteString(marked(s[at:]))
	return lines(out.String())
}

// mark is a pair of signs that formats what is between them, and its tag.
type mark struct {
	pattern *regexp.Regexp
	tag     string
}

func marks() []mark {
	pair := func(sign, tag string) mark {
		return mark{regexp.MustCompile(`(^|[\s(])` + sign + `([^\s` + sign + `](?:[^` + sign + `\n]*[^\s` + sign + `])?)` + sign + `($|[\s).,:;!?])`), tag}
	}
	return []mark{pair("`", "code"), pair(`\*`, "strong"), pair("_", "em"), pair("~", "s")}
}

// marked escapes what the platform has left unescaped and sets the marks.
func marked(s string) string {
	s = escapeHTML(unescapeText(s))
	for _, m := range marks() {
		s = m.pattern.ReplaceAllString(s, "${1}<"+m.tag+">${2}</"+m.tag+">${3}")
	}
	return s
}

// unescapeText takes back the three escapes of the platform's text.
func unescapeText(s string) string {
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(s)
}

// reference draws a mention, a moment or a link.
func (p *painter) reference(inner string) template.HTML {
	target, label, _ := strings.Cut(inner, "|")
	label = unescapeText(label)
	switch {
	case strings.HasPrefix(target, "@"):
		return p.mention(target[1:])
	case strings.HasPrefix(target, "#"):
		return p.place(target[1:])
	case strings.HasPrefix(target, "!date^"):
		return p.dateToken(target, label)
	case target == "!channel", target == "!here", target == "!everyone":
		return p.called("@" + target[1:])
	case strings.HasPrefix(target, "!"):
		return p.fault("a reference to %q", target)
	}
	return p.link(unescapeText(target), label)
}

func (p *painter) dateToken(target, fallback string) template.HTML {
	parts := strings.Split(target, "^")
	seconds, err := strconv.ParseInt(parts[1], 10, 64)
	if err != nil || len(parts) < 3 {
		return template.HTML(escapeHTML(fallback))
	}
	return p.moment(time.Unix(seconds, 0), parts[2])
}

// mention names a person; the reader's own name stands out.
func (p *painter) mention(id string) template.HTML {
	u, ok := p.ws.User(id)
	if !ok {
		return template.HTML(escapeHTML("@" + id))
	}
	if id == p.viewer.ID {
		return template.HTML(`<mark>@` + escapeHTML(u.RealName) + `</mark>`)
	}
	return p.called("@" + u.RealName)
}

func (p *painter) called(name string) template.HTML {
	return template.HTML(`<span class="mention">` + escapeHTML(name) + `</span>`)
}

func (p *painter) place(id string) template.HTML {
	c, ok := p.ws.Channel(id)
	if !ok {
		return template.HTML(escapeHTML("#" + id))
	}
	return p.called("#" + c.Name)
}

// link leads elsewhere; nothing is fetched from there. An address that is
// none of the usual kinds stays text.
func (p *painter) link(address, label string) template.HTML {
	if label == "" {
		label = address
	}
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" && u.Scheme != "mailto" {
		return template.HTML(escapeHTML(label))
	}
	return template.HTML(fmt.Sprintf(`<a href="%s" target="_blank" rel="noreferrer noopener">%s</a>`, escapeHTML(u.String()), escapeHTML(label)))
}

// moment draws a time in the reader's zone.
func (p *painter) moment(t time.Time, format string) template.HTML {
	local := t.In(p.zone)
	words := dateWord.ReplaceAllStringFunc(format, func(word string) string {
		text, ok := readDate(word, local, p.now.In(p.zone))
		if !ok {
			return string(p.fault("the date format %s", word))
		}
		return text
	})
	return template.HTML(fmt.Sprintf(`<time datetime="%s">%s</time>`, t.UTC().Format(time.RFC3339), escapeHTML(words)))
}

var dateWord = regexp.MustCompile(`\{[a-z_]+\}`)

// readDate writes one token of a date format. Source: the page on formatting
// text. Weekdays are added to short dates here, since our plays cross weeks.
func readDate(word string, t, now time.Time) (string, bool) {
	switch word {
	case "{date_num}":
		return t.Format(time.DateOnly), true
	case "{date}", "{date_long}":
		return t.Format("Monday 2 January 2006"), true
	case "{date_short}":
		return t.Format("Mon 2 Jan 2006"), true
	case "{date_pretty}":
		return nearby(t, now, "Monday 2 January 2006"), true
	case "{date_short_pretty}":
		return nearby(t, now, "Mon 2 Jan"), true
	case "{date_long_pretty}":
		return nearby(t, now, "Monday 2 January 2006"), true
	case "{time}":
		return t.Format("15:04"), true
	case "{time_secs}":
		return t.Format("15:04:05"), true
	}
	return "", false
}

// nearby is a day by its name, where it has one.
func nearby(t, now time.Time, format string) string {
	for days, name := range map[int]string{-1: "yesterday", 0: "today", 1: "tomorrow"} {
		if now.AddDate(0, 0, days).Format(time.DateOnly) == t.Format(time.DateOnly) {
			return name
		}
	}
	return t.Format(format)
}
