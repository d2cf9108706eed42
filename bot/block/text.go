package block

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/words"
	"soundings/flows"
)

// A Run is a piece of rich text: nothing in it is parsed.
type Run = slack.RichTextSectionElement

// Plain is text as it stands, ours or somebody's. Empty text, which the
// platform refuses, becomes a dash.
func Plain(format string, args ...any) Run { return Styled(sprintf(format, args), nil) }

// Typed is what somebody typed, clipped for the screen; whole texts stand in
// the files.
func Typed(text string, longest int) Run { return Styled(Fitting(words.Clip(text, longest)), nil) }

// Bold is text of ours in bold.
func Bold(format string, args ...any) Run {
	return Styled(sprintf(format, args), &slack.RichTextSectionTextStyle{Bold: true})
}

// BoldTyped is Typed in bold.
func BoldTyped(text string, longest int) Run {
	return Styled(Fitting(words.Clip(text, longest)), &slack.RichTextSectionTextStyle{Bold: true})
}

// Italic is text of ours in italics.
func Italic(format string, args ...any) Run {
	return Styled(sprintf(format, args), &slack.RichTextSectionTextStyle{Italic: true})
}

func sprintf(format string, args []any) string {
	if len(args) == 0 {
		return format
	}
	return fmt.Sprintf(format, args...)
}

// Styled is text in a style; a nil style is plain text.
func Styled(text string, style *slack.RichTextSectionTextStyle) *slack.RichTextSectionTextElement {
	if text == "" {
		text = "–"
	}
	return slack.NewRichTextSectionTextElement(text, style)
}

// Fitting contains a text where that still fits into one object; a whole text
// is worth more than a contained one.
func Fitting(text string) string {
	if c := words.Contained(text); utf8.RuneCountInString(c) <= flows.MaxText {
		return c
	}
	return text
}

const momentFormat = "Mon 2 Jan 15:04 UTC"

// When is a moment in the reader's own time.
func When(t time.Time) Run {
	fallback := t.UTC().Format(momentFormat)
	return slack.NewRichTextSectionDateElement(t.Unix(), "{date_short_pretty} at {time}", nil, &fallback)
}

// Day is a day in the reader's own time.
func Day(t time.Time) Run {
	fallback := t.UTC().Format("Mon 2 Jan 2006")
	return slack.NewRichTextSectionDateElement(t.Unix(), "{date_short}", nil, &fallback) // not pretty: “on today” is no English
}

// InARow parts the first few of many by commas, and says how many are left out.
func InARow[T any](all []T, most int, item func(T) Run) []Run {
	var runs []Run
	for i, one := range words.FirstOf(all, most) {
		if i > 0 {
			runs = append(runs, Plain(", "))
		}
		runs = append(runs, item(one))
	}
	if left := len(all) - most; left > 0 {
		runs = append(runs, Plain(" and %d more", left))
	}
	return runs
}

// Escape makes text safe in a message's top-level text: exactly the three
// characters that the platform parses.
func Escape(text string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(text)
}

// WhenText is When, for a message's top-level text.
func WhenText(t time.Time) string {
	return fmt.Sprintf("<!date^%d^{date_short_pretty} at {time}|%s>", t.Unix(), t.UTC().Format(momentFormat))
}
