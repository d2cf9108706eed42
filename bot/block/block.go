// Package block builds what the platform draws: rich text, paragraphs, lists,
// rows of buttons and forms, within the platform's limits. Forms are read back
// here as well. It knows nothing of a kickoff's stages and decides nothing.
//
// Start from Text, Para and Buttons for messages, from Drawn for what package
// report says, and from Form for forms.
package block

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/flows"
)

// Para is one paragraph.
func Para(runs ...Run) slack.Block {
	return slack.NewRichTextBlock("", slack.NewRichTextSection(runs...))
}

// Text is a paragraph of plain text.
func Text(format string, args ...any) slack.Block { return Para(Plain(format, args...)) }

// Quote sets words apart as somebody's own.
func Quote(runs ...Run) slack.Block {
	return slack.NewRichTextBlock("", &slack.RichTextQuote{Type: slack.RTEQuote, Elements: runs})
}

// Code is text to the letter, in type of one width.
func Code(text string) slack.Block {
	return slack.NewRichTextBlock("", &slack.RichTextPreformatted{Type: slack.RTEPreformatted, Elements: []Run{Plain("%s", text)}})
}

// Bullets is a list.
func Bullets(items ...[]Run) slack.Block {
	elements := make([]slack.RichTextElement, len(items))
	for i, runs := range items {
		elements[i] = slack.NewRichTextSection(runs...)
	}
	return slack.NewRichTextBlock("", itemList{slack.NewRichTextList(slack.RTEListBullet, 0, elements...)})
}

// Sentences is a list of sentences of ours.
func Sentences(all []string) slack.Block {
	items := make([][]Run, len(all))
	for i, s := range all {
		items[i] = []Run{Plain("%s", s)}
	}
	return Bullets(items...)
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

// List is a list of the first few of many, and how many it leaves out.
func List[T any](all []T, most int, item func(T) []Run) []slack.Block {
	if len(all) == most+1 {
		most++ // to say that there is one more takes its place
	}
	var items [][]Run
	for _, one := range words.FirstOf(all, most) {
		items = append(items, item(one))
	}
	return WithMore(items, len(all))
}

// WithMore is a list, and a line on what it leaves out of all; without items
// it is nothing.
func WithMore(items [][]Run, all int) []slack.Block {
	if len(items) == 0 {
		return nil
	}
	return append([]slack.Block{Bullets(items...)}, more(len(items), all)...)
}

// Rows lists things in a form, each with the button that changes it, or with
// none, and says how many are left out.
func Rows[T any](all []T, most int, entry func(T) ([]Run, *slack.ButtonBlockElement)) []slack.Block {
	var out []slack.Block
	for _, e := range words.FirstOf(all, most) {
		runs, change := entry(e)
		out = append(out, Para(runs...))
		if change != nil {
			out = append(out, Buttons(change))
		}
	}
	return append(out, more(most, len(all))...)
}

// more says how many of all are left out by a list of the first ones.
func more(shown, all int) []slack.Block {
	if all <= shown {
		return nil
	}
	return []slack.Block{Text("And %d more.", all-shown)}
}

// Heading is a block that screen readers use to find their way. It holds
// plain text only, at most 150 characters.
func Heading(text string) slack.Block { return slack.NewHeaderBlock(Label(words.Clip(text, 150))) }

// Note is small print: words of ours or plain text.
func Note(text string) slack.Block { return slack.NewContextBlock("", Label(words.Clip(text, 1900))) }

// Label is a text object that parses nothing.
func Label(text string) *slack.TextBlockObject {
	return slack.NewTextBlockObject(slack.PlainTextType, text, false, false)
}

// Picture shows a file that stands in the channel already, and says what it shows.
func Picture(file, says string) slack.Block {
	return slack.NewImageBlockSlackFile(&slack.SlackFileObject{ID: file}, words.Clip(says, 2000), "", nil)
}

// Divider is a line between blocks.
func Divider() slack.Block { return slack.NewDividerBlock() }

// Beside is a sentence of ours with a button beside it.
func Beside(text string, b *slack.ButtonBlockElement) slack.Block {
	return slack.NewSectionBlock(Label(text), nil, slack.NewAccessory(b))
}

// Buttons is a row of buttons.
func Buttons(all ...*slack.ButtonBlockElement) slack.Block {
	elements := make([]slack.BlockElement, len(all))
	for i, b := range all {
		elements[i] = b
	}
	return slack.NewActionBlock("", elements...)
}

// RowOf is a row of buttons, or nothing where there are none.
func RowOf(all []*slack.ButtonBlockElement) []slack.Block {
	if len(all) == 0 {
		return nil
	}
	return []slack.Block{Buttons(all...)}
}

// Button opens a form or does something at once. Its label is in title case,
// short, and ours; value comes back when it is pressed.
func Button(label, action, value string) *slack.ButtonBlockElement {
	return slack.NewButtonBlockElement(action, value, Label(label))
}

// Primary marks the one button of a message that most people want.
func Primary(b *slack.ButtonBlockElement) *slack.ButtonBlockElement {
	return b.WithStyle(slack.StylePrimary)
}

// Confirm puts a question before a button acts, where it cannot be undone.
func Confirm(b *slack.ButtonBlockElement, title, question, yes string) *slack.ButtonBlockElement {
	return b.WithConfirm(slack.NewConfirmationBlockObject(Label(title), Label(question), Label(yes), Label("Not Now")))
}

// Picker is a list in a message of which one entry is chosen, and does
// something at once. Its values are like those of buttons.
func Picker(action, name string, options []Option) slack.Block {
	return slack.NewActionBlock("", slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, Label(name), action, optionObjects(options)...))
}

// Asks is a text, ours or somebody's, beside a list of which each choice acts at once.
func Asks(text, action, name string, options []Option) slack.Block {
	picker := slack.NewOptionsSelectBlockElement(slack.OptTypeStatic, Label(name), action, optionObjects(options)...)
	return slack.NewSectionBlock(Label(text), nil, slack.NewAccessory(picker))
}

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

// Drawn are the blocks that say what a report says.
func Drawn(blocks []report.Block) []slack.Block {
	var out []slack.Block
	for _, b := range blocks {
		switch b := b.(type) {
		case report.Para:
			out = append(out, Para(Runs(report.Text(b))...))
		case report.Quote:
			out = append(out, Quote(Typed(string(b), flows.MaxText)))
		case report.Note:
			out = append(out, Note(string(b)))
		case report.Code:
			out = append(out, Code(string(b)))
		case report.Lines:
			lines := make([]slack.RichTextElement, len(b))
			for i, line := range b {
				lines[i] = slack.NewRichTextSection(Runs(line)...)
			}
			out = append(out, slack.NewRichTextBlock("", lines...))
		case report.List:
			items := make([][]Run, len(b.Items))
			for i, item := range b.Items {
				items[i] = Runs(item)
			}
			out = append(out, WithMore(items, b.All)...)
		default:
			panic(fmt.Sprintf("block: no block draws a %T", b))
		}
	}
	return out
}

// Runs is a text of a report. Empty text, which the platform refuses, becomes
// a dash.
func Runs(text report.Text) []Run {
	var out []Run
	var last *slack.RichTextSectionTextElement
	for _, run := range text {
		switch {
		case run.Day:
			out, last = append(out, Day(run.At)), nil
		case !run.At.IsZero():
			out, last = append(out, When(run.At)), nil
		case run.Text == " " && last != nil:
			last.Text += " " // an element for a blank would cost 30 bytes of a form's 20,000
		default:
			var style *slack.RichTextSectionTextStyle
			if run.Bold || run.Italic {
				style = &slack.RichTextSectionTextStyle{Bold: run.Bold, Italic: run.Italic}
			}
			last = Styled(Fitting(run.Text), style)
			out = append(out, last)
		}
	}
	return out
}

// A form that answers another one has to stay under 20 kB; ours stays under
// AnswerBytes. PageFrame is what a page has besides its entries.
const (
	AnswerBytes = 18_000
	PageFrame   = 2_000
)

// MostOptions is how many options a list to choose from holds.
const MostOptions = 100

// Size is the bytes that blocks take when they are sent.
func Size(blocks ...slack.Block) int {
	data, err := json.Marshal(blocks)
	if err != nil {
		panic(fmt.Sprintf("block: blocks do not encode: %v", err)) // plain data always does
	}
	return len(data)
}

// FitsAnswer reports whether a form is short enough to answer another one.
func FitsAnswer(view slack.ModalViewRequest) bool {
	data, err := json.Marshal(view)
	return err == nil && len(data) < AnswerBytes
}

// Pages divides items, of a size each, into pages of at most so many bytes, of
// which PageFrame are kept for what they have besides their items. There is
// always one page.
func Pages[T any](items []T, most int, size func(T) int) [][]T {
	return PagesOf(items, len(items), most, size)
}

// PagesOf is Pages with at most so many items on each.
func PagesOf[T any](items []T, mostItems, most int, size func(T) int) [][]T {
	pages := [][]T{nil}
	used := PageFrame
	for _, item := range items {
		last := len(pages) - 1
		bytes := size(item)
		if n := len(pages[last]); n > 0 && (used+bytes > most || n == mostItems) {
			pages = append(pages, nil)
			last, used = last+1, PageFrame
		}
		pages[last] = append(pages[last], item)
		used += bytes
	}
	return pages
}

// Fitted splits what does not fit: a long list goes on as another one. instead gives what
// stands for a block that cannot be split.
func Fitted(blocks []slack.Block, fits func(slack.Block) bool, instead func(slack.Block) slack.Block) []slack.Block {
	var out []slack.Block
	for _, b := range blocks {
		first, rest, ok := halved(b)
		switch {
		case fits(b):
			out = append(out, b)
		case ok:
			out = append(out, Fitted([]slack.Block{first, rest}, fits, instead)...)
		default:
			out = append(out, instead(b))
		}
	}
	return out
}

// halved divides rich text between its paragraphs, or between the items of its
// list.
func halved(b slack.Block) (first, rest slack.Block, ok bool) {
	text, ok := b.(*slack.RichTextBlock)
	if !ok || len(text.Elements) == 0 {
		return nil, nil, false
	}
	if half := len(text.Elements) / 2; half > 0 {
		return slack.NewRichTextBlock("", text.Elements[:half]...), slack.NewRichTextBlock("", text.Elements[half:]...), true
	}
	list, ok := text.Elements[0].(itemList)
	if !ok || len(list.Elements) < 2 {
		return nil, nil, false
	}
	part := func(items []slack.RichTextElement) slack.Block {
		return slack.NewRichTextBlock("", itemList{slack.NewRichTextList(list.Style, list.Indent, items...)})
	}
	half := len(list.Elements) / 2
	return part(list.Elements[:half]), part(list.Elements[half:]), true
}
