package screens

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/flows"
)

// A word is one run of rich text: nothing in it is parsed.
type word = slack.RichTextSectionElement

// plain is text as it stands, ours or somebody's.
func plain(format string, args ...any) word {
	return styled(sprintf(format, args), nil)
}

// typed is what somebody typed, clipped for the screen; whole texts stand in
// the files. Empty text, which the platform refuses, becomes a dash.
func typed(text string, longest int) word { return styled(fitting(clip(text, longest)), nil) }

func bold(format string, args ...any) word {
	return styled(sprintf(format, args), &slack.RichTextSectionTextStyle{Bold: true})
}

func boldTyped(text string, longest int) word {
	return styled(fitting(clip(text, longest)), &slack.RichTextSectionTextStyle{Bold: true})
}

func italic(format string, args ...any) word {
	return styled(sprintf(format, args), &slack.RichTextSectionTextStyle{Italic: true})
}

func sprintf(format string, args []any) string {
	if len(args) == 0 {
		return format
	}
	return fmt.Sprintf(format, args...)
}

func styled(text string, style *slack.RichTextSectionTextStyle) *slack.RichTextSectionTextElement {
	if text == "" {
		text = "–"
	}
	return slack.NewRichTextSectionTextElement(text, style)
}

// when is a moment in the reader's own time.
func when(t time.Time) word {
	fallback := t.UTC().Format("Mon 2 Jan 15:04 UTC")
	return slack.NewRichTextSectionDateElement(t.Unix(), "{date_short_pretty} at {time}", nil, &fallback)
}

// onDay is a day in the reader's own time.
func onDay(t time.Time) word {
	fallback := t.UTC().Format("Mon 2 Jan 2006")
	return slack.NewRichTextSectionDateElement(t.Unix(), "{date_short}", nil, &fallback) // not pretty: “on today” is no English
}

// para is one paragraph.
func para(words ...word) slack.Block {
	return slack.NewRichTextBlock("", slack.NewRichTextSection(words...))
}

// quoted sets words apart as somebody's own.
func quoted(words ...word) slack.Block {
	return slack.NewRichTextBlock("", &slack.RichTextQuote{Type: slack.RTEQuote, Elements: words})
}

// bullets is a list.
func bullets(items ...[]word) slack.Block {
	elements := make([]slack.RichTextElement, len(items))
	for i, words := range items {
		elements[i] = slack.NewRichTextSection(words...)
	}
	return slack.NewRichTextBlock("", itemList{slack.NewRichTextList(slack.RTEListBullet, 0, elements...)})
}

// An itemList is a list as the platform's type definitions have it. The client
// would send a border and an offset of 0 with each, and they know no offset.
type itemList struct{ *slack.RichTextList }

// List is the platform's own list, for whoever draws it as text.
func (l itemList) List() *slack.RichTextList { return l.RichTextList }

// MarshalJSON writes what a list of ours has.
func (l itemList) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Type     slack.RichTextElementType     `json:"type"`
		Style    slack.RichTextListElementType `json:"style"`
		Elements []slack.RichTextElement       `json:"elements"`
	}{l.Type, l.Style, l.Elements})
}

// heading is a block that screen readers use to find their way. It holds
// plain text only, at most 150 characters.
func heading(text string) slack.Block {
	return slack.NewHeaderBlock(slack.NewTextBlockObject(slack.PlainTextType, clip(text, 150), false, false))
}

// note is small print: words of ours or plain text.
func note(text string) slack.Block {
	return slack.NewContextBlock("", slack.NewTextBlockObject(slack.PlainTextType, clip(text, 1900), false, false))
}

// buttons is a row of buttons.
func buttons(all ...*slack.ButtonBlockElement) slack.Block {
	elements := make([]slack.BlockElement, len(all))
	for i, b := range all {
		elements[i] = b
	}
	return slack.NewActionBlock("", elements...)
}

// button opens a form ("open/<name>") or does something at once
// ("do/<name>"). Labels are in title case, short, and ours.
func button(label, action string, args Args) *slack.ButtonBlockElement {
	return slack.NewButtonBlockElement(action, args.String(), slack.NewTextBlockObject(slack.PlainTextType, label, false, false))
}

// primary marks the one button of a message that most people want.
func primary(b *slack.ButtonBlockElement) *slack.ButtonBlockElement {
	return b.WithStyle(slack.StylePrimary)
}

// confirming puts a question before a button acts, where it cannot be undone.
func confirming(b *slack.ButtonBlockElement, title, question, yes string) *slack.ButtonBlockElement {
	text := func(s string) *slack.TextBlockObject {
		return slack.NewTextBlockObject(slack.PlainTextType, s, false, false)
	}
	return b.WithConfirm(slack.NewConfirmationBlockObject(text(title), text(question), text(yes), text("Not Now")))
}

// fitting contains a text where that still fits into one object; a whole text
// is worth more than a contained one.
func fitting(text string) string {
	if c := contained(text); utf8.RuneCountInString(c) <= flows.MaxText {
		return c
	}
	return text
}

// escape makes text safe in a message's top-level text: exactly the three
// characters that the platform parses.
func escape(text string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(text)
}

// whenText is when, for a message's top-level text.
func whenText(t time.Time) string {
	return fmt.Sprintf("<!date^%d^{date_short_pretty} at {time}|%s>", t.Unix(), t.UTC().Format("Mon 2 Jan 15:04 UTC"))
}
