package plaintext_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"soundings/bot/block"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/plaintext"
)

// FuzzEscape escapes whatever was typed: nobody is notified, no link is made, and
// read back it is what was typed.
func FuzzEscape(f *testing.F) {
	for _, seed := range []string{"", "<!channel>", "<@U1|you>", "&lt;!here&gt;", "&amp;amp;", "a < b & c > d", "<https://example.org|your bank>", "\x00\xff<"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		sent := block.Escape(typed)
		require.False(t, strings.ContainsAny(sent, "<>"), "%q", sent)
		require.Equal(t, typed, plaintext.Unescape(sent))
		for _, ping := range slacktest.Pings(sent, nil) {
			t.Fatalf("%q notifies %s", typed, ping)
		}
	})
}
