package main

import (
	"io"
	"os"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// onTerminal runs the program with a terminal for standard error, and returns what is
// shown there.
func onTerminal(t *testing.T, args ...string) (code int, shown string) {
	t.Helper()
	t.Setenv("TERM", "xterm")
	ours, theirs, err := pty.Open()
	if err != nil {
		t.Skipf("this machine gives no terminal: %v", err)
	}
	defer ours.Close()
	read := make(chan string, 1)
	go func() {
		data, _ := io.ReadAll(ours) // ends with an error once the other end is closed
		read <- string(data)
	}()
	code = run(t.Context(), args, environ{}, strings.NewReader(""), io.Discard, theirs)
	require.NoError(t, theirs.Close())
	return code, <-read
}

func TestProgressOnATerminal(t *testing.T) {
	play := []string{"rehearse", "--script", "testdata/scenarios/five.yaml"}
	code, shown := onTerminal(t, play...)
	assert.Equal(t, exitGood, code)
	assert.Regexp(t, `\rplaying \d+ March 2027: \d+ calls of the bot`, shown)
	assert.True(t, strings.HasSuffix(shown, "\r\x1b[K"), "the line is taken away: %q", shown)
	assert.NotContains(t, shown, "\n")

	code, shown = onTerminal(t, append(play, "--quiet")...)
	assert.Equal(t, exitGood, code)
	assert.Empty(t, shown)
	_, shown = onTerminal(t, "score", "--quiet", "no-such.csv")
	assert.Equal(t, "no-such.csv: no such file or directory\r\n", shown, "errors are told all the same")

	assert.Empty(t, call(t, "", play...).errors, "nobody reads along")
}

// A device that is none, such as the one that swallows everything, is no terminal.
func TestNullDeviceIsNoTerminal(t *testing.T) {
	null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer null.Close()
	assert.False(t, isTerminal(null))
}
