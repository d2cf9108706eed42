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
	"soundings/bot/plaintext"
)

// How the page draws words: text objects, mentions and moments, each as the
// person before the page reads them.

// textObject draws a plain_text or mrkdwn object.
func (p *painter) textObject(o wire.Object) template.HTML {
	if o == nil {
		return ""
	}
	switch kind := wire.Str(o, "type"); kind {
	case "plain_text":
		return lines(escaped(wire.Str(o, "text")))
	case "mrkdwn":
		return p.mrkdwn(wire.Str(o, "text"))
	default:
		return p.fault("text of type %q", kind)
	}
}

// lines keeps line breaks.
func lines(html template.HTML) template.HTML {
	return template.HTML(strings.ReplaceAll(string(html), "\n", "<br>"))
}

func escaped(s string) template.HTML { return template.HTML(template.HTMLEscapeString(s)) }

// reference is what stands between < and > in text that is parsed.
var reference = regexp.MustCompile(`<([^<>\n]+)>`)

// mrkdwn draws text that is parsed: references, and the marks for strong,
// slanted, struck and code.
func (p *painter) mrkdwn(s string) template.HTML {
	var out template.HTML
	at := 0
	for _, span := range reference.FindAllStringSubmatchIndex(s, -1) {
		out += marked(s[at:span[0]]) + p.reference(s[span[2]:span[3]])
		at = span[1]
	}
	return lines(out + marked(s[at:]))
}

// mark is a pair of signs that formats what is between them, and its tag.
type mark struct {
	pattern *regexp.Regexp
	tag     string
}

var marks = []mark{markOf("`", "code"), markOf(`\*`, "strong"), markOf("_", "em"), markOf("~", "s")}

func markOf(sign, tag string) mark {
	return mark{regexp.MustCompile(`(^|[\s(])` + sign + `([^\s` + sign + `](?:[^` + sign + `\n]*[^\s` + sign + `])?)` + sign + `($|[\s).,:;!?])`), tag}
}

// marked escapes what the platform has left unescaped and sets the marks.
func marked(s string) template.HTML {
	s = template.HTMLEscapeString(plaintext.Unescape(s))
	for _, m := range marks {
		s = m.pattern.ReplaceAllString(s, "${1}<"+m.tag+">${2}</"+m.tag+">${3}")
	}
	return template.HTML(s)
}

// reference draws a mention, a moment or a link.
func (p *painter) reference(inner string) template.HTML {
	target, label, _ := strings.Cut(inner, "|")
	label = plaintext.Unescape(label)
	switch {
	case strings.HasPrefix(target, "@"):
		return p.mention(target[1:])
	case strings.HasPrefix(target, "#"):
		return p.place(target[1:])
	case strings.HasPrefix(target, "!date^"):
		return p.dateToken(target, label)
	case target == "!channel", target == "!here", target == "!everyone":
		return called("@" + target[1:])
	case strings.HasPrefix(target, "!"):
		return p.fault("a reference to %q", target)
	}
	return p.link(plaintext.Unescape(target), label)
}

func (p *painter) dateToken(target, fallback string) template.HTML {
	parts := strings.Split(target, "^")
	seconds, err := strconv.ParseInt(parts[1], 10, 64)
	if err != nil || len(parts) < 3 {
		return escaped(fallback)
	}
	return p.moment(time.Unix(seconds, 0), parts[2])
}

// mention names a person; the reader's own name stands out.
func (p *painter) mention(id string) template.HTML {
	u, ok := p.team.User(id)
	if !ok {
		return escaped("@" + id)
	}
	if id == p.viewer.ID {
		return `<mark>@` + escaped(u.RealName) + `</mark>`
	}
	return called("@" + u.RealName)
}

func called(name string) template.HTML { return `<span class="mention">` + escaped(name) + `</span>` }

func (p *painter) place(id string) template.HTML {
	c, ok := p.team.Channel(id)
	if !ok {
		return escaped("#" + id)
	}
	return called("#" + c.Name)
}

// link leads elsewhere; nothing is fetched from there. An address that is
// none of the usual kinds stays text.
func (p *painter) link(address, label string) template.HTML {
	if label == "" {
		label = address
	}
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" && u.Scheme != "mailto" {
		return escaped(label)
	}
	return `<a href="` + escaped(u.String()) + `" target="_blank" rel="noreferrer noopener">` + escaped(label) + `</a>`
}

// moment draws a time in the reader's zone.
func (p *painter) moment(t time.Time, format string) template.HTML {
	words := dateWord.ReplaceAllStringFunc(format, func(word string) string {
		layout, ok := dateWords[word]
		if !ok {
			return string(p.fault("the date format %s", word))
		}
		if name := dayName(t.In(p.zone), p.now.In(p.zone)); name != "" && strings.Contains(word, "pretty") {
			return name
		}
		return t.In(p.zone).Format(layout)
	})
	return template.HTML(fmt.Sprintf(`<time datetime="%s">%s</time>`, t.UTC().Format(time.RFC3339), escaped(words)))
}

var dateWord = regexp.MustCompile(`\{[a-z_]+\}`)

// dateWords are the tokens of a date format. Source: the page on formatting
// text. Weekdays are added to short dates here, since our plays cross weeks.
var dateWords = map[string]string{
	"{date_num}":          time.DateOnly,
	"{date}":              "Monday 2 January 2006",
	"{date_long}":         "Monday 2 January 2006",
	"{date_short}":        "Mon 2 Jan 2006",
	"{date_pretty}":       "Monday 2 January 2006",
	"{date_short_pretty}": "Mon 2 Jan",
	"{date_long_pretty}":  "Monday 2 January 2006",
	"{time}":              "15:04",
	"{time_secs}":         "15:04:05",
}

// dayName is a day by its name, where it has one.
func dayName(t, now time.Time) string {
	for days, name := range map[int]string{-1: "yesterday", 0: "today", 1: "tomorrow"} {
		if now.AddDate(0, 0, days).Format(time.DateOnly) == t.Format(time.DateOnly) {
			return name
		}
	}
	return ""
}
