package screens

import (
	"fmt"

	"github.com/slack-go/slack"

	"soundings/bot/block"
	"soundings/bot/report"
	"soundings/flows"
)

// What report says, drawn as blocks and rich text.

// drawn are the blocks of a part of the summary.
func drawn(blocks []report.Block) []slack.Block {
	var out []slack.Block
	for _, b := range blocks {
		switch b := b.(type) {
		case report.Para:
			out = append(out, block.Para(richText(report.Text(b))...))
		case report.Quote:
			out = append(out, block.Quote(block.Typed(string(b), flows.MaxText)))
		case report.Note:
			out = append(out, block.Note(string(b)))
		case report.Code:
			out = append(out, block.Code(string(b)))
		case report.Lines:
			lines := make([]slack.RichTextElement, len(b))
			for i, line := range b {
				lines[i] = slack.NewRichTextSection(richText(line)...)
			}
			out = append(out, slack.NewRichTextBlock("", lines...))
		case report.List:
			items := make([][]block.Run, len(b.Items))
			for i, item := range b.Items {
				items[i] = richText(item)
			}
			out = append(out, block.WithMore(items, b.All)...)
		default:
			panic(fmt.Sprintf("screens: no block draws a %T", b))
		}
	}
	return out
}

// runs draws a text. Empty text, which the platform refuses, becomes a dash.
func richText(text report.Text) []block.Run {
	var out []block.Run
	var last *slack.RichTextSectionTextElement
	for _, run := range text {
		switch {
		case run.Day:
			out, last = append(out, block.Day(run.At)), nil
		case !run.At.IsZero():
			out, last = append(out, block.When(run.At)), nil
		case run.Text == " " && last != nil:
			last.Text += " " // an element for a blank would cost 30 bytes of a form's 20,000
		default:
			last = block.Styled(block.Fitting(run.Text), styleOf(run))
			out = append(out, last)
		}
	}
	return out
}

func styleOf(run report.Run) *slack.RichTextSectionTextStyle {
	if !run.Bold && !run.Italic {
		return nil
	}
	return &slack.RichTextSectionTextStyle{Bold: run.Bold, Italic: run.Italic}
}
