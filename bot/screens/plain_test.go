package screens

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/screens/screen"
)

func TestPlainText(t *testing.T) {
	noon := time.Date(2027, time.March, 24, 16, 0, 0, 0, time.UTC)
	text := func(s string) *slack.TextBlockObject {
		return slack.NewTextBlockObject(slack.PlainTextType, s, false, false)
	}
	for _, c := range []struct {
		rule  string
		block slack.Block
		want  string
	}{
		{"a heading is underlined", block.Heading("Åbo"), "Åbo\n==="},
		{"a paragraph runs on", block.Para(block.Plain("a "), block.Bold("b"), block.Italic(" c")), "a b c"},
		{"line breaks stay", block.Text("a\nb"), "a\nb"},
		{"a moment is in UTC", block.Para(block.Plain("Closes "), block.When(noon)), "Closes Wed 24 Mar 16:00 UTC"},
		{"a day has its year", block.Para(block.Day(noon)), "Wed 24 Mar 2027"},
		{"bullets", block.Bullets([]block.Run{block.Plain("a")}, []block.Run{block.Plain("b")}), "• a\n• b"},
		{"a quote, every line of it", block.Quote(block.Plain("a\nb")), "> a\n> b"},
		{"small print", block.Note("small"), "small"},
		{"buttons", block.Buttons(screen.Button("One", "do/x", screen.Args{}), block.Primary(screen.Button("Two Words", "do/y", screen.Args{}))), "[One] [Two Words]"},
		{"a button beside a text", slack.NewSectionBlock(text("Stop now."), nil, slack.NewAccessory(screen.Button("Stop", "do/x", screen.Args{}))), "Stop now.\n[Stop]"},
		{"a link shows where it leads", block.Para(slack.NewRichTextSectionLinkElement("https://a.example", "counts", nil)), "counts (https://a.example)"},
		{"a link that is its own text", block.Para(slack.NewRichTextSectionLinkElement("https://a.example", "https://a.example", nil)), "https://a.example"},
		{"a line across", block.Divider(), "- - -"},
		{"text that is laid out", slack.NewRichTextBlock("", &slack.RichTextPreformatted{Type: slack.RTEPreformatted,
			Elements: []slack.RichTextSectionElement{block.Plain("a  b\nc")}}), "    a  b\n    c"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			p := screen.Posting{Text: "not shown", Blocks: []slack.Block{c.block}}
			got := PlainText(p)
			assert.Equal(t, c.want, got, "got\n%s\nwant", got)
			got = PlainText(screen.Posting{Blocks: sentAndRead(t, p.Blocks)})
			assert.Equal(t, c.want, got, "once sent and read back it is\n%s\nwant", got)
		})
	}
}

// sentAndRead takes blocks to JSON and back, as a transcript does.
func sentAndRead(t *testing.T, blocks []slack.Block) []slack.Block {
	t.Helper()
	data, err := json.Marshal(blocks)
	require.NoError(t, err)
	var read slack.Blocks
	require.NoError(t, json.Unmarshal(data, &read))
	return read.BlockSet
}

// Nothing that a message of ours holds is missing in its drawing: it draws
// the same once sent and read back.
func TestPlainTextOfAllMessagesReadBack(t *testing.T) {
	eachMoment(t, func(t *testing.T, m moment) {
		for _, slot := range append(earlySlots(m.K), laterSlots(m.K)...) {
			posting, err := Message(m.K, slot, m.Now)
			if err != nil {
				continue // reported elsewhere
			}
			back := screen.Posting{Text: posting.Text, Blocks: sentAndRead(t, posting.Blocks)}
			got, want := PlainText(back), PlainText(posting)
			assert.Equal(t, want, got, "%s reads\n%s\nand", slot.Name(), got)
		}
	})
}

func TestPlainTextWithoutBlocks(t *testing.T) {
	for text, want := range map[string]string{
		"Closes <!date^1803978060^{date} at {time}|Tue 2 Mar 09:01 UTC>.": "Closes Tue 2 Mar 09:01 UTC.",
		"a &lt;b&gt; &amp;amp;":                              "a <b> &amp;",
		"<https://a.example|counts> and <https://b.example>": "counts (https://a.example) and https://b.example",
		"<!here> <@U1> <@U2|ben>":                            "here @U1 ben",
		"5 < 6 and 7 > 2":                                    "5 < 6 and 7 > 2",
	} {
		assert.Equal(t, want, PlainText(screen.Posting{Text: text}), "%q is drawn as", text)
	}
}

func TestPlainForm(t *testing.T) {
	f := block.Form{Title: "Title", Submit: "Send"}
	f.Text("a", "Name", "Ana", block.OneLine, block.Longest(20), block.Hint("As you like."))
	f.Select("b", "Which?", "2", []block.Option{{Value: "1", Text: "one"}, {Value: "2", Text: "two"}}, block.Optional)
	f.Radio("c", "How", "", []block.Option{{Value: "1", Text: "slow", About: "but sure"}})
	f.Ticks("d", "What", []string{"2"}, []block.Option{{Value: "1", Text: "this"}, {Value: "2", Text: "that"}})
	f.People("e", "Who", nil)
	view := f.View()
	const want = `Title
=====

Name:
  [Ana____]
  As you like.

Which? (optional):
  [two ▾]

How:
  ( ) slow: but sure

What:
  ( ) this
  (x) that

Who:
  [Choose ▾]

[Not Now] [Send]`
	got := PlainForm(view)
	assert.Equal(t, want, got, "got\n%s\nwant", got)
}
