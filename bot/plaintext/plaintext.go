// Package plaintext draws messages and forms as text, for a terminal, for
// review and for whoever has them read aloud: headings underlined, bullets,
// quotes, buttons as [Label], moments in UTC. Paragraphs are one line each and
// stand apart by an empty line; wrapping is left to the caller. It knows the
// platform's blocks, those that package block builds, and nothing of a kickoff.
// Any other shows as the name of its type.
//
// Start from Message and Blocks.
package plaintext

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
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
		return underlined(b.Text.Text)
	case *slack.RichTextBlock:
		return joined(b.Elements, "\n", richText)
	case *slack.SectionBlock: // a sentence with a button or a list beside it
		if list := b.Accessory.SelectElement; list != nil {
			return b.Text.Text + "\n" + element(list)
		}
		return b.Text.Text + "\n" + element(b.Accessory.ButtonElement)
	case *slack.ContextBlock:
		return joined(b.ContextElements.Elements, " · ", func(e slack.MixedElement) string { return textOf(e.(*slack.TextBlockObject)) })
	case *slack.ActionBlock:
		return joined(b.Elements.ElementSet, " ", element)
	case *slack.ImageBlock:
		return "[picture: " + b.AltText + "]"
	case *slack.DividerBlock:
		return "- - -"
	case *slack.InputBlock:
		return input(b)
	}
	return fmt.Sprintf("(%s)", b.BlockType())
}

// joined joins what is drawn of each of several things.
func joined[T any](all []T, sep string, draw func(T) string) string {
	parts := make([]string, len(all))
	for i, one := range all {
		parts[i] = draw(one)
	}
	return strings.Join(parts, sep)
}

// underlined is a heading and a rule of its length, as far as a line goes.
func underlined(text string) string {
	return text + "\n" + strings.Repeat("=", min(utf8.RuneCountInString(text), 78))
}

// textOf is the text of an object; empty without one.
func textOf(t *slack.TextBlockObject) string {
	if t == nil {
		return ""
	}
	return t.Text
}

// richText draws a paragraph, a list, a quote or words to the letter.
func richText(e slack.RichTextElement) string {
	switch e := e.(type) {
	case *slack.RichTextSection:
		return joined(e.Elements, "", word)
	case *slack.RichTextQuote:
		return prefixed(joined(e.Elements, "", word), "> ", "> ")
	case *slack.RichTextPreformatted:
		return prefixed(joined(e.Elements, "", word), "    ", "    ")
	case interface{ List() *slack.RichTextList }: // a list of ours, before it is sent
		return richText(e.List())
	case *slack.RichTextList:
		return joined(e.Elements, "\n", func(item slack.RichTextElement) string { return prefixed(richText(item), "• ", "  ") })
	}
	return fmt.Sprintf("(%s)", e.RichTextElementType())
}

// prefixed puts first before the first line of s, and next before the others.
func prefixed(s, first, next string) string {
	return first + strings.ReplaceAll(s, "\n", "\n"+next)
}

// word draws a piece of rich text; a moment is the fallback that it carries.
func word(w slack.RichTextSectionElement) string {
	switch w := w.(type) {
	case *slack.RichTextSectionTextElement:
		return w.Text
	case *slack.RichTextSectionDateElement:
		return *w.Fallback
	case *slack.RichTextSectionLinkElement:
		if w.Text != "" && w.Text != w.URL {
			return w.Text + " (" + w.URL + ")"
		}
		return w.URL
	case *slack.RichTextSectionChannelElement:
		return "#" + w.ChannelID
	}
	return fmt.Sprintf("(%s)", w.RichTextSectionElementType())
}

// input draws a label, the input, and the hint under it.
func input(b *slack.InputBlock) string {
	name := textOf(b.Label)
	if b.Optional {
		name += " (optional)"
	}
	if !strings.HasSuffix(name, "?") {
		name += ":"
	}
	lines := []string{name, prefixed(element(b.Element), "  ", "  ")}
	if b.Hint != nil {
		lines = append(lines, "  "+textOf(b.Hint))
	}
	return strings.Join(lines, "\n")
}

// element draws a button as [Label], a list as [chosen ▾], a text field
// as [text____].
func element(e slack.BlockElement) string {
	switch e := e.(type) {
	case *slack.ButtonBlockElement:
		return "[" + textOf(e.Text) + "]"
	case *slack.SelectBlockElement:
		return "[" + cmp.Or(optionText(e.InitialOption), e.InitialUser, textOf(e.Placeholder)) + " ▾]"
	case *slack.MultiSelectBlockElement:
		return "[" + cmp.Or(joined(e.InitialOptions, ", ", optionText), strings.Join(e.InitialUsers, ", "), textOf(e.Placeholder)) + " ▾]"
	case *slack.RadioButtonsBlockElement:
		return choices(e.Options, e.InitialOption)
	case *slack.CheckboxGroupsBlockElement:
		return choices(e.Options, e.InitialOptions...)
	case *slack.PlainTextInputBlockElement:
		return "[" + e.InitialValue + "____]"
	case *slack.NumberInputBlockElement:
		return "[" + e.InitialValue + "____]"
	case *slack.DatePickerBlockElement:
		return "[" + cmp.Or(e.InitialDate, "a day") + " ▾]"
	}
	return "[" + string(e.ElementType()) + "]"
}

// choices draws one choice a line, (x) before what is chosen.
func choices(options []*slack.OptionBlockObject, initial ...*slack.OptionBlockObject) string {
	return joined(options, "\n", func(o *slack.OptionBlockObject) string {
		text := "( ) " + textOf(o.Text)
		if slices.ContainsFunc(initial, func(on *slack.OptionBlockObject) bool { return on != nil && on.Value == o.Value }) {
			text = "(x) " + textOf(o.Text)
		}
		if o.Description != nil {
			text += ": " + textOf(o.Description)
		}
		return text
	})
}

func optionText(o *slack.OptionBlockObject) string {
	if o == nil {
		return ""
	}
	return textOf(o.Text)
}

// marked is what the platform parses in text: <!date^…|fallback>,
// <https://…|label>, <@U1>, <!here>.
var marked = regexp.MustCompile(`<([^<>|\s][^<>|]*)(?:\|([^<>]*))?>`)

// unlink draws parsed text as it would be read: a date by its fallback, a
// link by its label and address, a mention by its id; and undoes the escapes.
func unlink(text string) string {
	text = marked.ReplaceAllStringFunc(text, func(m string) string {
		parts := marked.FindStringSubmatch(m)
		target, label := parts[1], parts[2]
		switch {
		case strings.HasPrefix(target, "!date^"):
			return label
		case label != "" && label != target && strings.Contains(target, "://"):
			return label + " (" + target + ")"
		case label != "":
			return label
		}
		return strings.TrimPrefix(target, "!")
	})
	return Unescape(text)
}

// Unescape undoes the platform's escaping in text read back from it.
func Unescape(text string) string {
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(text)
}
