package rehearsal

import (
	"fmt"
	"html/template"
	"strings"
)

// drawMarkdown draws the Markdown of a canvas: headings, lists, quotes, tables
// as rows of text, and paragraphs. Marks inside a line stay as they are
// written; a canvas of ours is to be read, not to be edited. Its title stands
// above it in the rank of a first heading, so the second ones come right below.
func drawMarkdown(s string) template.HTML {
	var out strings.Builder
	open := ""
	set := func(tag string) {
		if open == tag {
			return
		}
		if open != "" {
			fmt.Fprintf(&out, "</%s>", open)
		}
		if open = tag; tag != "" {
			fmt.Fprintf(&out, "<%s>", tag)
		}
	}
	for _, line := range strings.Split(s, "\n") {
		tag, inner := markdownLine(strings.TrimSpace(line))
		switch tag {
		case "":
			set("")
		case "ul", "ol":
			set(tag)
			fmt.Fprintf(&out, "<li>%s</li>", inner)
		case "p", "blockquote":
			set(tag)
			out.WriteString(inner + "<br>")
		case "hr":
			set("")
			out.WriteString("<hr>")
		default:
			set("")
			fmt.Fprintf(&out, "<%s>%s</%s>", tag, inner, tag)
		}
	}
	set("")
	return template.HTML(out.String())
}

// markdownLine tells what a line is, and what stands in it. Headings begin
// below the page's own.
func markdownLine(line string) (tag, html string) {
	heading := len(line) - len(strings.TrimLeft(line, "#"))
	switch {
	case line == "":
		return "", ""
	case line == "---":
		return "hr", ""
	case heading > 0 && strings.HasPrefix(line[heading:], " "):
		return fmt.Sprintf("h%d", min(heading+1, 6)), inlineMarkdown(line[heading+1:])
	case strings.HasPrefix(line, "- "), strings.HasPrefix(line, "* "):
		return "ul", inlineMarkdown(line[2:])
	case strings.HasPrefix(line, "> "):
		return "blockquote", inlineMarkdown(line[2:])
	}
	if number, rest, found := strings.Cut(line, ". "); found && number != "" && strings.Trim(number, "0123456789") == "" {
		return "ol", inlineMarkdown(rest)
	}
	return "p", inlineMarkdown(line)
}

// inlineMarkdown takes back the backslashes before marks, and sets what is
// strong.
func inlineMarkdown(s string) string {
	var out strings.Builder
	strong := false
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == '\\' && i+1 < len(s) && strings.ContainsRune("\\`*_{}[]()#+-.!<>|~@&", rune(s[i+1])):
			i++
			out.WriteString(escapeHTML(s[i : i+1]))
		case strings.HasPrefix(s[i:], "**"):
			i++
			strong = !strong
			out.WriteString(map[bool]string{true: "<strong>", false: "</strong>"}[strong])
		default:
			out.WriteString(escapeHTML(s[i : i+1]))
		}
	}
	if strong {
		out.WriteString("</strong>")
	}
	return out.String()
}
