package block

import (
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/report"
	"soundings/flows"
)

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
