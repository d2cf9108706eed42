package rehearsal_test

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWordsArePlain reads what the scenarios leave in the channel and in the
// summary. The words have a second meaning that a reader whose first language is
// another one meets first (common practice, no source); DEVELOPERS.md has the words
// that stand in their place. "Held" and "fell" count only as the name or the count of a list,
// and "foretell" and "sway" not at all, since people in the scenarios write them.
func TestWordsArePlain(t *testing.T) {
	avoided := regexp.MustCompile(`(?i)\bthin\b|\blean(ing)? on\b|\bheld: |\bfell: |\d (held|fell)\b|raters anew|\bnarrowly\b|\bdrawn (anew|by lot)\b|\bmiddle half\b|poorly (known|evidenced)|Kendall|no pass mark yet of|\b(supported|refuted)\b`)
	for _, bad := range []string{"Thin: few ratings", "Held: A3. Fell: A2.", "supported, narrowly", "5 held, 1 fell", "pass mark 60%: refuted."} {
		require.Regexp(t, avoided, bad)
	}
	read := 0
	for _, pattern := range []string{"channel.txt", "summary.md"} {
		files, err := filepath.Glob("../../testdata/golden/*/" + pattern)
		require.NoError(t, err)
		require.NotEmpty(t, files, pattern)
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Empty(t, avoided.FindAllString(string(text), -1), file)
			read += len(text)
		}
	}
	assert.Greater(t, read, 10_000, "next to nothing was read")
}
