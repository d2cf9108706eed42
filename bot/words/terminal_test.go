package words_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/words"
)

func TestHarmless(t *testing.T) {
	for _, tt := range []struct{ rule, text, line, lines string }{
		{"letters of any script stay", "Fähre 船 سفينة", "Fähre 船 سفينة", "Fähre 船 سفينة"},
		{"an emoji of several parts stays whole", "👩‍🚀", "👩‍🚀", "👩‍🚀"},
		{"line breaks", "a\nb\r\nc", "a ↵ b ↵ c", "a\nb\nc"},
		{"a return alone would write over the line", "a\rb", "a ↵ b", "a ↵ b"},
		{"a tab becomes a space", "a\tb", "a b", "a b"},
		{"an escape sequence is named", "\x1b[2J", "<U+001B>[2J", "<U+001B>[2J"},
		{"so is its one-character form", "\u009b2J", "<U+009B>2J", "<U+009B>2J"},
		{"an override of direction is named", "a\u202eb", "a<U+202E>b", "a<U+202E>b"},
		{"a byte that is no text is named", "a\xffb", "a<FF>b", "a<FF>b"},
	} {
		assert.Equal(t, tt.line, words.HarmlessLine(tt.text), "%s: HarmlessLine(%q)", tt.rule, tt.text)
		assert.Equal(t, tt.lines, words.Harmless(tt.text), "%s: Harmless(%q)", tt.rule, tt.text)
	}
}

func TestWrap(t *testing.T) {
	for _, tt := range []struct {
		rule, text, indent, want string
	}{
		{"words stay whole", "aaaa bbbb cccc dddd eeee", "", "aaaa bbbb cccc dddd|eeee"},
		{"behind an indent", "aaaa bbbb cccc dddd", "  ", "  aaaa bbbb cccc|  dddd"},
		{"a wide character takes two columns", "船船船船船船船船船船船", "", "船船船船船船船船船船|船"},
		{"a long word is cut", strings.Repeat("x", 45), "", strings.Repeat("x", 20) + "|" + strings.Repeat("x", 20) + "|xxxxx"},
		{"nothing is one empty line", "", "  ", "  "},
	} {
		assert.Equal(t, tt.want, strings.Join(words.Wrap(tt.text, 20, tt.indent), "|"), tt.rule)
	}
}
