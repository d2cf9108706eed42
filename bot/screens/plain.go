package screens

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/slack-go/slack"
)

// PlainText draws a message as text, for a terminal and for review: headings
// underlined, bullets, quotes, buttons as [Label], moments in UTC. Paragraphs
// are one line each and stand apart by an empty line; wrapping is left to the
// caller. A message without blocks is its top-level text.
func PlainText(p Posting) string {
	if len(p.Blocks) == 0 {
		return tidy(unlink(p.Text))
	}
	return plainBlocks(p.Blocks)
}

// plainBlocks joins what is drawn of each block.
func plainBlocks(blocks []slack.Block) string {
	var parts []string
	for _, b := range blocks {
		if s := tidy(plainBlock(b)); s != "" {
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

func plainBlock(b slack.Block) string {
	switch b := b.(type) {
	case *slack.HeaderBlock:
		return underlined(textOf(b.Text))
	case *slack.RichTextBlock:
		return plainRichText(b.Elements)
	case *slack.SectionBlock:
		return plainSection(b)
	case *slack.ContextBlock:
		return plainContext(b)
	case *slack.ActionBlock:
		return plainElements(b.Elements)
	case *slack.DividerBlock:
		return "- - -"
	case *slack.ImageBlock:
		return "(Picture: " + b.AltText + ")"
	case *slack.TableBlock:
		return plainTable(b)
	case *slack.InputBlock:
		return plainInput(b)
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

func plainSection(b *slack.SectionBlock) string {
	var lines []string
	if b.Text != nil {
		lines = append(lines, textOf(b.Text))
	}
	for _, f := range b.Fields {
		lines = append(lines, textOf(f))
	}
	if b.Accessory != nil && b.Accessory.ButtonElement != nil {
		lines = append(lines, plainElement(b.Accessory.ButtonElement))
	}
	return strings.Join(lines, "\n")
}

func plainContext(b *slack.ContextBlock) string {
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

func plainTable(b *slack.TableBlock) string {
	rows := make([]string, len(b.Rows))
	for i, row := range b.Rows {
		cells := make([]string, len(row))
		for j, c := range row {
			cells[j] = plainCell(c)
		}
		rows[i] = strings.Join(cells, " | ")
	}
	return strings.Join(rows, "\n")
}

func plainCell(c slack.TableCell) string {
	switch c := c.(type) {
	case *slack.TableRawTextCell:
		return c.Text
	case *slack.TableRichTextCell:
		return plainRichText(c.Elements)
	}
	return fmt.Sprint(c)
}

// plainRichText draws sections, lists and quotes in their order.
func plainRichText(elements []slack.RichTextElement) string {
	var parts []string
	for _, e := range elements {
		switch e := e.(type) {
		case *slack.RichTextSection:
			parts = append(parts, plainWords(e.Elements))
		case *slack.RichTextQuote:
			parts = append(parts, prefixed(plainWords(e.Elements), "> ", "> "))
		case *slack.RichTextPreformatted:
			parts = append(parts, prefixed(plainWords(e.Elements), "    ", "    "))
		case itemList:
			parts = append(parts, plainList(e.RichTextList))
		case *slack.RichTextList:
			parts = append(parts, plainList(e))
		}
	}
	return strings.Join(parts, "\n")
}

func plainList(l *slack.RichTextList) string {
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
		items = append(items, prefixed(plainWords(s.Elements), indent+mark, hanging))
	}
	return strings.Join(items, "\n")
}

// prefixed puts first before the first line of s, and next before the others.
func prefixed(s, first, next string) string {
	return first + strings.ReplaceAll(s, "\n", "\n"+next)
}

func plainWords(words []slack.RichTextSectionElement) string {
	var b strings.Builder
	for _, w := range words {
		b.WriteString(plainWord(w))
	}
	return b.String()
}

func plainWord(w slack.RichTextSectionElement) string {
	switch w := w.(type) {
	case *slack.RichTextSectionTextElement:
		return w.Text
	case *slack.RichTextSectionDateElement:
		return plainDate(w)
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

// plainDate is a moment in UTC, the day before the hour.
func plainDate(d *slack.RichTextSectionDateElement) string {
	if d.Fallback != nil && *d.Fallback != "" {
		return *d.Fallback
	}
	return time.Unix(int64(d.Timestamp), 0).UTC().Format(momentFormat)
}
