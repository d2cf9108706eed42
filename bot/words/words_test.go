package words_test

import (
	"testing"

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
