package main

import (
	"log/slog"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func secretIn(t *testing.T, text string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	return file
}

func TestASecretStandsInAFile(t *testing.T) {
	t.Parallel()
	for _, name := range secrets {
		s := readSettings(environ{name + "_FILE": secretIn(t, "  what-it-is\n")})
		require.NoError(t, s.unread, name)
		assert.Equal(t, readSettings(environ{name: "what-it-is"}), s, name)
	}
}

func TestAFileOfASecretThatIsNoUse(t *testing.T) {
	t.Parallel()
	gone := filepath.Join(t.TempDir(), "gone")
	for _, tt := range []struct {
		rule    string
		environ environ
		want    string
	}{
		{"both", environ{"SLACK_BOT_TOKEN": madeUpBot, "SLACK_BOT_TOKEN_FILE": secretIn(t, "x")}, "SLACK_BOT_TOKEN and SLACK_BOT_TOKEN_FILE are both set: keep one of them"},
		{"no file", environ{"SLACK_APP_TOKEN_FILE": gone}, "SLACK_APP_TOKEN_FILE: open " + gone},
		{"an empty one", environ{"SOUNDINGS_MODEL_KEY_FILE": secretIn(t, "\n")}, "is empty"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			a := tt.environ.call(t, "", "serve")
			assert.Equal(t, exitWrong, a.code)
			assert.Contains(t, a.errors, tt.want)
			assert.NotContains(t, a.errors, madeUpBot, "the value is quoted")
		})
	}
}

// Whoever collects the log of a container finds there why it did not start.
func TestAFailedStartIsInTheLog(t *testing.T) {
	t.Parallel()
	a := environ{"SLACK_BOT_TOKEN": "no"}.call(t, "", "serve")
	assert.Equal(t, exitWrong, a.code)
	assert.Greater(t, len(faultsIn(t, a.errors)), 2, "one line for each fault: %s", a.errors)
}

func TestTheLevelOfTheLog(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]slog.Level{"": slog.LevelInfo, "debug": slog.LevelDebug, "WARN": slog.LevelWarn, " error ": slog.LevelError} {
		s := goodSettings(t, changed(socketEnviron(), "SOUNDINGS_LOG_LEVEL="+text))
		assert.Equal(t, want, s.logLevel(), "%q", text)
	}
	err := readSettings(changed(socketEnviron(), "SOUNDINGS_LOG_LEVEL=loud")).check()
	assert.ErrorContains(t, err, "write debug, info, warn or error")
}

func TestThePlaceOfARedisHoldsNoSecret(t *testing.T) {
	t.Parallel()
	for address, want := range map[string]string{
		"redis://user:p@ss@cache.example:6380/2?x=y":    "cache.example:6380/2",
		"redis+sentinel://:secret@a:26379,b:26379/main": "a:26379,b:26379/main",
		"redis://localhost:6379/0":                      "localhost:6379/0",
	} {
		assert.Equal(t, want, redisPlace(address))
	}
}
