package main

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/event"
)

func TestVersion(t *testing.T) {
	t.Parallel()
	said := good(t, "version")
	for _, line := range []string{"soundings ", "\ncommit    ", "\nbuilt with go1.", fmt.Sprintf("\njournal format %d\n", event.JournalFormat())} {
		assert.Contains(t, said, line)
	}
}

// Whoever runs an older release must learn from the list of changes what a newer
// one writes into the journal.
func TestChangelogNamesTheJournalFormat(t *testing.T) {
	t.Parallel()
	entries := regexp.MustCompile(`(?m)^## `).Split(string(read(t, "deploy/CHANGELOG.md")), -1)
	require.Greater(t, len(entries), 1, "no release is named")
	said := regexp.MustCompile(`Journal format (\d+)\.`).FindStringSubmatch(entries[1])
	require.NotNil(t, said, "the newest release names no journal format")
	assert.Equal(t, fmt.Sprint(event.JournalFormat()), said[1],
		"the newest release in deploy/CHANGELOG.md is of another journal format: while it is not out, write the new number there, and else begin a new release")
	release, _, _ := strings.Cut(entries[1], "\n")
	assert.Regexp(t, `^\d+\.\d+\.\d+$`, release)
}
