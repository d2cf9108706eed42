package screens

import (
	"fmt"

	"github.com/slack-go/slack"

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
			out = append(out, para(runs(report.Text(b))...))
		case report.Quote:
			out = append(out, quoted(typed(string(b), flows.MaxText)))
		case report.Note:
			out = append(out, note(string(b)))
		case report.Code:
			out = append(out, slack.NewRichTextBlock("", &slack.RichTextPreformatted{Type: slack.RTEPreformatted, Elements: []word{styled(string(b), nil)}}))
		case report.Lines:
			lines := make([]slack.RichTextElement, len(b))
			for i, line := range b {
				lines[i] = slack.NewRichTextSection(runs(line)...)
			}
			out = append(out, slack.NewRichTextBlock("", lines...))
		case report.List:
			items := make([][]word, len(b.Items))
			for i, item := range b.Items {
				items[i] = runs(item)
			}
			out = append(out, withMore(items, b.All)...)
		default:
			panic(fmt.Sprintf("screens: no block draws a %T", b))
		}
	}
	return out
}

// runs draws a text. Empty text, which the platform refuses, becomes a dash.
func runs(text report.Text) []word {
	var out []word
	var last *slack.RichTextSectionTextElement
	for _, run := range text {
		switch {
		case run.Day:
			out, last = append(out, onDay(run.At)), nil
		case !run.At.IsZero():
			out, last = append(out, when(run.At)), nil
		case run.Text == " " && last != nil:
			last.Text += " " // an element for a blank would cost 30 bytes of a form's 20,000
		default:
			last = styled(fitting(run.Text), styleOf(run))
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
