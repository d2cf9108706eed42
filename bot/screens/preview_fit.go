package screens

import "github.com/slack-go/slack"

// How the preview fits its pages: an answer to a form is bounded by
// answerBytes, of which the ways to go on take a share.
const (
	waysBytes  = 6_000
	shownBytes = answerBytes - waysBytes + pageFrame
)

// fitted splits what would not fit a page: a long list goes on as another one.
func fitted(blocks []slack.Block) []slack.Block {
	const most = shownBytes - pageFrame
	var out []slack.Block
	for _, b := range blocks {
		first, rest, ok := halved(b)
		switch {
		case jsonSize([]slack.Block{b}) <= most:
			out = append(out, b)
		case ok:
			out = append(out, fitted([]slack.Block{first, rest})...)
		default:
			out = append(out, note("Here stands a text that is too long to be shown in this form. In the thread it is whole."))
		}
	}
	return out
}

// halved divides rich text between its paragraphs, or between the items of its
// list.
func halved(b slack.Block) (first, rest slack.Block, ok bool) {
	text, ok := b.(*slack.RichTextBlock)
	if !ok {
		return nil, nil, false
	}
	if half := len(text.Elements) / 2; half > 0 {
		return slack.NewRichTextBlock("", text.Elements[:half]...), slack.NewRichTextBlock("", text.Elements[half:]...), true
	}
	if len(text.Elements) == 0 {
		return nil, nil, false
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
