package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"soundings/bot/journal/storetest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var rewrite = flag.Bool("rewrite", false, "write what commands print now as what is expected; read the diff as text")

// An answer is what a call of the program came to.
type answer struct {
	code        int
	out, errors string
}

// TestMain runs all tests at the top of the repository, so that messages name
// files as a reader of the repository would.
func TestMain(m *testing.M) {
	if err := os.Chdir(filepath.Join("..", "..")); err != nil {
		panic(err)
	}
	storetest.Main(m)
}

// An environ is the settings that the program finds.
type environ map[string]string

// call runs the program in this process.
func (e environ) call(t *testing.T, stdin string, args ...string) answer {
	t.Helper()
	var out, errors bytes.Buffer
	code := run(t.Context(), args, e, strings.NewReader(stdin), &out, &errors)
	return answer{code, out.String(), errors.String()}
}

// call is for what needs no settings.
func call(t *testing.T, stdin string, args ...string) answer {
	t.Helper()
	return environ{}.call(t, stdin, args...)
}

func good(t *testing.T, args ...string) string {
	t.Helper()
	return environ{}.good(t, args...)
}

func mustRefuse(t *testing.T, want string, args ...string) {
	t.Helper()
	environ{}.mustRefuse(t, want, args...)
}

// good is call for what must go well.
func (e environ) good(t *testing.T, args ...string) string {
	t.Helper()
	a := e.call(t, "", args...)
	require.Equal(t, exitGood, a.code, "soundings %s: exit %d, stderr", strings.Join(args, " "), a.code)
	require.Equal(t, "", a.errors, "soundings %s: exit %d, stderr", strings.Join(args, " "), a.code)
	return a.out
}

// mustRefuse checks that a call is refused with want as its only message.
func (e environ) mustRefuse(t *testing.T, want string, args ...string) {
	t.Helper()
	a := e.call(t, "", args...)
	assert.Equal(t, exitWrong, a.code, "soundings %s:\ngot exit %d, stdout %q, stderr %q\nwant exit 2, nothing", strings.Join(args, " "), a.code, a.out, a.errors)
	assert.Equal(t, "", a.out, "soundings %s:\ngot exit %d, stdout %q, stderr %q\nwant exit 2, nothing", strings.Join(args, " "), a.code, a.out, a.errors)
	assert.Equal(t, want+"\n", a.errors, "soundings %s:\ngot exit %d, stdout %q, stderr %q\nwant exit 2, nothing", strings.Join(args, " "), a.code, a.out, a.errors)
}

// golden compares text with a file, or writes the file with -rewrite.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if *rewrite {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got, "%s differs (see it with -rewrite and git diff).\ngot:\n%s\nwant:\n%s", path, got, want)
}

// glob finds test data, and fails when there is none.
func glob(t *testing.T, pattern string) []string {
	t.Helper()
	found, err := filepath.Glob(pattern)
	require.NoError(t, err, "%s: found %d files, err", pattern, len(found))
	require.NotEmpty(t, found, "%s: found %d files, err", pattern, len(found))
	return found
}

func TestHelpOnEverything(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		args []string
		want string // a part of the text
	}{
		{[]string{"--help"}, "Exit codes: 0 good, 1 failed, 2 wrong usage or bad input."},
		{[]string{"help"}, "Exit codes:"},
		{[]string{"help", "score"}, "rater,assumption,importance,evidence"},
		{[]string{"score", "--help"}, "the same seed gives the same result (default 1)"},
		{[]string{"size", "--help"}, "discover"},
		{[]string{"size", "survey", "--help"}, "--population people"},
		{[]string{"size", "split", "--help"}, "--lift"},
		{[]string{"help", "size", "discover"}, "--target"},
		{[]string{"window", "--help"}, "--zone zone"},
		{[]string{"rehearse", "--help"}, "--script file"},
		{[]string{"serve", "--help"}, "SOUNDINGS_REDIS_URL"},
		{[]string{"check", "--help"}, "SOUNDINGS_MODEL_URL"},
		{[]string{"export", "--help"}, "--kickoff id"},
		{[]string{"manifest", "--help"}, "--address url"},
	} {
		assert.Contains(t, good(t, tt.args...), tt.want, "%v: help lacks", tt.args)
	}
}

func TestWrongUsage(t *testing.T) {
	t.Parallel()
	const commands = "soundings takes one of check, completion, export, manifest, purge, redraw, rehearse, score, serve, size, version, window, each with --help"
	for _, tt := range []struct {
		rule string
		args []string
		want string
	}{
		{"no command", nil, "a command is missing; " + commands},
		{"an unknown command", []string{"scores"}, `there is no command "scores"; ` + commands},
		{"help on an unknown command", []string{"help", "scores"}, `there is no command "scores"; ` + commands},
		{"no kind of size", []string{"size"}, "a command is missing; soundings size takes one of discover, mark, split, survey, each with --help"},
		{"an unknown kind of size", []string{"size", "panel"}, `there is no command "panel"; soundings size takes one of discover, mark, split, survey, each with --help`},
		{"an unknown flag", []string{"score", "--colour", "x.csv"}, "unknown flag: --colour; see soundings score --help"},
		{"a flag without its value", []string{"window", "--from"}, "flag needs an argument: --from; see soundings window --help"},
		{"no number", []string{"size", "survey", "--margin", "small"}, `--margin takes a number, and "small" is none; see soundings size survey --help`},
		{"no whole number", []string{"score", "--asked", "2.5", "x.csv"}, `--asked takes a whole number, and "2.5" is none; see soundings score --help`},
		{"a negative seed", []string{"score", "--seed", "-1", "x.csv"}, `--seed takes a whole number from 0 up, and "-1" is none; see soundings score --help`},
		{"a word too many", []string{"window", "x"}, `"x" is one word too many; window takes flags only, see soundings window --help`},
	} {
		t.Run(tt.rule, func(t *testing.T) { mustRefuse(t, tt.want, tt.args...) })
	}
}

// A control character in an argument must not reach the terminal.
func TestMessagesAreHarmless(t *testing.T) {
	t.Parallel()
	a := call(t, "", "score", "no\x1b[2J\nsuch.csv")
	assert.Equal(t, exitWrong, a.code, "exit %d, stderr %q; want 2 and one line without control characters", a.code, a.errors)
	assert.Equal(t, 1, strings.Count(a.errors, "\n"), "exit %d, stderr %q; want 2 and one line without control characters", a.code, a.errors)
	assert.NotContains(t, a.errors, "\x1b", "exit %d, stderr %q; want 2 and one line without control characters", a.code, a.errors)
}

type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, os.ErrClosed }

func TestOutputThatCannotBeWrittenFails(t *testing.T) {
	t.Parallel()
	var errors bytes.Buffer
	code := run(context.Background(), []string{"size", "survey", "--margin", "0.05"}, nil, nil, brokenPipe{}, &errors)
	assert.Equal(t, exitFailed, code, "got exit %d, stderr %q; want 1 and why", code, errors.String())
	assert.Equal(t, "print the result: file already closed\n", errors.String(), "got exit %d, stderr %q; want 1 and why", code, errors.String())
}
