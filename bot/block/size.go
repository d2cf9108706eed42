package block

import (
	"encoding/json"
	"fmt"

	"github.com/slack-go/slack"
)

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
	pages := [][]T{nil}
	used := PageFrame
	for _, item := range items {
		last := len(pages) - 1
		bytes := size(item)
		if used+bytes > most && len(pages[last]) > 0 {
			pages = append(pages, nil)
			last, used = last+1, PageFrame
		}
		pages[last] = append(pages[last], item)
		used += bytes
	}
	return pages
}

// Fitted splits what is longer than most bytes: a long list goes on as another
// one. instead stands for what cannot be split.
func Fitted(blocks []slack.Block, most int, instead slack.Block) []slack.Block {
	var out []slack.Block
	for _, b := range blocks {
		first, rest, ok := halved(b)
		switch {
		case Size(b) <= most:
			out = append(out, b)
		case ok:
			out = append(out, Fitted([]slack.Block{first, rest}, most, instead)...)
		default:
			out = append(out, instead)
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
