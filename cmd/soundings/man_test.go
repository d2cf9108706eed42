package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestManPages(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1800000000")
	first, again := t.TempDir(), t.TempDir()
	for _, dir := range []string{first, again} {
		good(t, "man", "--out", dir)
	}
	pages := glob(t, filepath.Join(first, "*.1"))
	for _, name := range []string{"soundings.1", "soundings-serve.1", "soundings-size-survey.1"} {
		assert.Contains(t, pages, filepath.Join(first, name))
	}
	for _, page := range pages {
		same, err := os.ReadFile(filepath.Join(again, filepath.Base(page)))
		require.NoError(t, err)
		assert.Equal(t, string(read(t, page)), string(same), "not the same bytes twice")
	}
	assert.Contains(t, string(read(t, filepath.Join(first, "soundings-serve.1"))), "SOUNDINGS_REDIS_URL")
}

func TestCompletion(t *testing.T) {
	t.Parallel()
	for _, shell := range []string{"bash", "fish", "powershell", "zsh"} {
		assert.NotEmpty(t, good(t, "completion", shell))
	}
	offered := call(t, "", "__completeNoDesc", "size", "").out
	assert.True(t, strings.HasPrefix(offered, "discover\nmark\nsplit\nsurvey\n"), offered)
}
