package words_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"soundings/bot/words"
)

// TestContained covers Unicode Standard Annex 9: an isolate ends at its own
// end, so ends and beginnings within the text must balance.
func TestContained(t *testing.T) {
	for _, c := range []struct{ rule, text, want string }{
		{"plain text stays as it is", "a ferry", "a ferry"},
		{"Hebrew and Arabic need no help", "עברית العربية", "עברית العربية"},
		{"an override ends with the isolate", "\u202Ea", "\u2068\u202Ea\u2069"},
		{"an isolate left open is closed", "\u2067a", "\u2068\u2067a\u2069\u2069"},
		{"an end too many is given a beginning", "a\u2069b", "\u2068\u2068a\u2069b\u2069"},
	} {
		t.Run(c.rule, func(t *testing.T) { assert.Equal(t, c.want, words.Contained(c.text)) })
	}
}

// A text that is cut ends between two words where it can, and never takes more room than
// it has.
func TestClip(t *testing.T) {
	for _, c := range []struct {
		text    string
		longest int
		want    string
	}{
		{"It fits.", 8, "It fits."},
		{"Passengers look at their phone before they leave", 36, "Passengers look at their phone…"},
		{"Passengers look at their phone before they leave", 38, "Passengers look at their phone before…"},
		{"At the pier, nobody knows", 17, "At the pier…"},
		{strings.Repeat("é", 20), 10, strings.Repeat("é", 9) + "…"},
		{"A Donaudampfschifffahrtsgesellschaft", 30, "A Donaudampfschifffahrtsgesel…"}, // a word too long to give up
		{"Rack 4", 4, "Rac…"},
	} {
		got := words.Clip(c.text, c.longest)
		assert.Equal(t, c.want, got)
		assert.LessOrEqual(t, utf8.RuneCountInString(got), c.longest, c.text)
	}
}
