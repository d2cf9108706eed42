package plaintext

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/slack-go/slack"
)

// Message draws a message. One without blocks is its top-level text.
func Message(text string, blocks []slack.Block) string {
	if len(blocks) == 0 {
		return tidy(unlink(text))
	}
	return Blocks(blocks)
}

// Blocks joins what is drawn of each block.
func Blocks(blocks []slack.Block) string {
	var parts []string
	for _, b := range blocks {
		if s := tidy(block(b)); s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, "\n\n")
}

// tidy takes trailing blanks off every line.
func tidy(s string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " \t\r")
	}
	return strings.Trim(strings.Join(lines, "\n"), "\n")
}

func block(b slack.Block) string {
	switch b := b.(type) {
	case *slack.HeaderBlock:
		return underlined(textOf(b.Text))
	case *slack.RichTextBlock:
		return richText(b.Elements)
	case *slack.SectionBlock:
		return section(b)
	case *slack.ContextBlock:
		return context(b)
	case *slack.ActionBlock:
		return elements(b.Elements)
	case *slack.DividerBlock:
		return "- - -"
	case *slack.ImageBlock:
		return "(Picture: " + b.AltText + ")"
	case *slack.TableBlock:
		return table(b)
	case *slack.InputBlock:
		return input(b)
	}
	return fmt.Sprintf("(%s)", b.BlockType())
}

// underlined is a heading and a rule of its length, as far as a line goes.
func underlined(text string) string {
	return text + "\n" + strings.Repeat("=", min(utf8.RuneCountInString(text), 78))
}

// textOf is the text of an object; what the platform would parse in it is
// drawn as it would be read.
func textOf(t *slack.TextBlockObject) string {
	switch {
	case t == nil:
		return ""
	case t.Type == slack.MarkdownType:
		return unlink(t.Text)
	}
	return t.Text
}

func section(b *slack.SectionBlock) string {
	var lines []string
	if b.Text != nil {
		lines = append(lines, textOf(b.Text))
	}
	for _, f := range b.Fields {
		lines = append(lines, textOf(f))
	}
	if b.Accessory != nil && b.Accessory.ButtonElement != nil {
		lines = append(lines, element(b.Accessory.ButtonElement))
	}
	return strings.Join(lines, "\n")
}

func context(b *slack.ContextBlock) string {
	var parts []string
	for _, e := range b.ContextElements.Elements {
		switch e := e.(type) {
		case *slack.TextBlockObject:
			parts = append(parts, textOf(e))
		case *slack.ImageBlockElement:
			parts = append(parts, "(Picture: "+e.AltText+")")
		}
	}
	return strings.Join(parts, " · ")
}

func table(b *slack.TableBlock) string {
	rows := make([]string, len(b.Rows))
	for i, row := range b.Rows {
		cells := make([]string, len(row))
		for j, c := range row {
			cells[j] = cell(c)
		}
		rows[i] = strings.Join(cells, " | ")
	}
	return strings.Join(rows, "\n")
}

func cell(c slack.TableCell) string {
	switch c := c.(type) {
	case *slack.TableRawTextCell:
		return c.Text
	case *slack.TableRichTextCell:
		return richText(c.Elements)
	}
	return fmt.Sprint(c)
}

// richText draws sections, lists and quotes in their order.
func richText(elements []slack.RichTextElement) string {
	var parts []string
	for _, e := range elements {
		switch e := e.(type) {
		case *slack.RichTextSection:
			parts = append(parts, words(e.Elements))
		case *slack.RichTextQuote:
			parts = append(parts, prefixed(words(e.Elements), "> ", "> "))
		case *slack.RichTextPreformatted:
			parts = append(parts, prefixed(words(e.Elements), "    ", "    "))
		case interface{ List() *slack.RichTextList }: // a list of ours, before it is sent
			parts = append(parts, list(e.List()))
		case *slack.RichTextList:
			parts = append(parts, list(e))
		}
	}
	return strings.Join(parts, "\n")
}

func list(l *slack.RichTextList) string {
	var items []string
	for i, e := range l.Elements {
		s, ok := e.(*slack.RichTextSection)
		if !ok {
			continue
		}
		mark := "• "
		if l.Style == slack.RTEListOrdered {
			mark = fmt.Sprintf("%d. ", l.Offset+i+1)
		}
		indent := strings.Repeat("  ", l.Indent)
		hanging := indent + strings.Repeat(" ", utf8.RuneCountInString(mark))
		items = append(items, prefixed(words(s.Elements), indent+mark, hanging))
	}
	return strings.Join(items, "\n")
}

// prefixed puts first before the first line of s, and next before the others.
func prefixed(s, first, next string) string {
	return first + strings.ReplaceAll(s, "\n", "\n"+next)
}

func words(words []slack.RichTextSectionElement) string {
	var b strings.Builder
	for _, w := range words {
		b.WriteString(word(w))
	}
	return b.String()
}

func word(w slack.RichTextSectionElement) string {
	switch w := w.(type) {
	case *slack.RichTextSectionTextElement:
		return w.Text
	case *slack.RichTextSectionDateElement:
		return date(w)
	case *slack.RichTextSectionLinkElement:
		if w.Text != "" && w.Text != w.URL {
			return w.Text + " (" + w.URL + ")"
		}
		return w.URL
	case *slack.RichTextSectionUserElement:
		return "@" + w.UserID
	case *slack.RichTextSectionChannelElement:
		return "#" + w.ChannelID
	case *slack.RichTextSectionEmojiElement:
		return ":" + w.Name + ":"
	}
	return ""
}

// date is a moment in UTC, the day before the hour.
func date(d *slack.RichTextSectionDateElement) string {
	if d.Fallback != nil && *d.Fallback != "" {
		return *d.Fallback
	}
	return time.Unix(int64(d.Timestamp), 0).UTC().Format(momentFormat)
}
