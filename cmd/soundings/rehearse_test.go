package main

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal/storetest"
)

const five = "testdata/scenarios/five.yaml"

// filesLeft are the names of what a kickoff leaves behind, sorted.
func filesLeft() []string {
	return []string{"assumptions.csv", "checkins.ics", "kickoff.json", "map.png", "map.svg", "summary.html", "summary.md", "tasks.csv"}
}

// rehearsed is everything that a call of rehearse gave.
type rehearsed struct {
	channel, trace string
	files          map[string]string
}

// rehearseFive plays five.yaml with more flags.
func rehearseFive(t *testing.T, flags ...string) rehearsed {
	t.Helper()
	out, trace := filepath.Join(t.TempDir(), "new", "out"), filepath.Join(t.TempDir(), "trace")
	args := append([]string{"rehearse", "--script", five, "--out", out, "--trace", trace}, flags...)
	r := rehearsed{channel: good(t, args...), files: map[string]string{}}
	mustHoldOnly(t, out, filesLeft()...)
	for _, name := range filesLeft() {
		r.files[name] = string(read(t, filepath.Join(out, name)))
	}
	r.trace = string(read(t, trace))
	return r
}

func (r rehearsed) mustEqual(t *testing.T, other rehearsed) {
	t.Helper()
	assert.Equal(t, other.channel, r.channel, "the channels differ")
	assert.Equal(t, other.trace, r.trace, "the traces differ")
	for name, data := range r.files {
		assert.Equal(t, other.files[name], data, "%s differs", name)
	}
}

func TestRehearse(t *testing.T) {
	t.Parallel()
	first := rehearseFive(t)
	t.Run("the channel is printed, and nothing else", func(t *testing.T) {
		assert.Contains(t, first.channel, "Waiting for an allotment garden", "the channel lacks the title")
	})
	t.Run("the score is that of the ratings", func(t *testing.T) {
		var kickoff struct{ Score any }
		require.NoError(t, json.Unmarshal([]byte(first.files["kickoff.json"]), &kickoff))
		var want struct{ Score any }
		require.NoError(t, json.Unmarshal(read(t, "testdata/scenarios/five.expected.json"), &want))
		mustHold(t, "score", kickoff.Score, want.Score)
	})
	t.Run("the trace has a line for each call", func(t *testing.T) { mustBeTrace(t, first.trace) })
	t.Run("a real server gives the same, byte for byte, and keeps nothing of it", func(t *testing.T) {
		url := storetest.Server(t)
		first.mustEqual(t, rehearseFive(t, "--redis", url))
		mustBeEmpty(t, url)
	})
}

func mustBeTrace(t *testing.T, trace string) {
	t.Helper()
	posted := 0
	for line := range strings.Lines(trace) {
		var call struct {
			Method string
			Args   map[string]any
			OK     bool
		}
		require.NoError(t, json.Unmarshal([]byte(line), &call))
		keys := "args at method ok status"
		if !call.OK { // as when the platform asks to wait
			keys = "args at error method ok status"
		}
		mustHaveKeys(t, "trace", []byte(line), keys)
		if call.Method != "chat.postMessage" {
			continue
		}
		posted++
		_, decoded := call.Args["blocks"].([]any)
		assert.True(t, decoded, "blocks are %T, want a list: %s", call.Args["blocks"], line)
	}
	assert.NotEqual(t, 0, posted, "the trace shows no message")
}

func mustBeEmpty(t *testing.T, url string) {
	t.Helper()
	options, err := redis.ParseURL(url)
	require.NoError(t, err)
	client := redis.NewClient(options)
	defer client.Close()
	keys, err := client.Keys(t.Context(), "*").Result()
	assert.NoError(t, err, "the server still holds %v, err", keys)
	assert.Empty(t, keys, "the server still holds %v, err", keys)
}

func TestRehearseRefusesBadScenarios(t *testing.T) {
	t.Parallel()
	for _, path := range glob(t, "testdata/scenarios/bad/*.yaml") {
		t.Run(filepath.Base(path), func(t *testing.T) {
			dir := t.TempDir()
			want := string(read(t, strings.TrimSuffix(path, ".yaml")+".err"))
			mustRefuse(t, filepath.Dir(path)+"/"+strings.TrimSpace(want), "rehearse", "--script", path,
				"--out", filepath.Join(dir, "out"), "--trace", filepath.Join(dir, "trace"))
			mustHoldOnly(t, dir)
		})
	}
}

func TestRehearseWrongUsage(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		rule string
		args []string
		want string
	}{
		{"files of no script", []string{"--out", "out"}, "--out goes with --script: add the scenario, such as testdata/scenarios/ferry.yaml, or leave --out out to open the page"},
		{"open to all without saying so", []string{"--listen", ":0"}, "--listen :0 would let other machines in, and anyone there can act as anyone: add --anyone if you want that, or listen on 127.0.0.1:8090"},
		{"a fault that there is not", []string{"--faults", "rain=2"}, "--faults: read the fault \"rain=2\": the faults are slow, refused, failed, limited, lost, doubled, reordered, dropped"},
		{"no port", []string{"--listen", "127.0.0.1"}, "--listen takes an address and a port, such as 127.0.0.1:8090"},
		{"a script without a name", []string{"--script", ""}, "--script is missing: the scenario, a YAML file such as testdata/scenarios/ferry.yaml"},
		{"a script that is not there", []string{"--script", "none.yaml"}, "none.yaml: no such file or directory"},
		{"a file for a folder", []string{"--script", five, "--out", "go.mod"}, "--out takes a folder, and go.mod is none"},
	} {
		t.Run(tt.rule, func(t *testing.T) { mustRefuse(t, tt.want, append([]string{"rehearse"}, tt.args...)...) })
	}
}

func TestRehearseRedis(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	a := call(t, "", "rehearse", "--script", five, "--redis", "http://127.0.0.1", "--out", filepath.Join(dir, "out"))
	assert.Equal(t, exitWrong, a.code, "no Redis URL: got exit %d, stderr %q; want 2 and the flag", a.code, a.errors)
	assert.True(t, strings.HasPrefix(a.errors, "--redis: "), "no Redis URL: got exit %d, stderr %q; want 2 and the flag", a.code, a.errors)
	a = call(t, "", "rehearse", "--script", five, "--redis", "redis://:hush@127.0.0.1:1/0", "--out", filepath.Join(dir, "out"))
	assert.Equal(t, exitFailed, a.code, "no server there: got exit %d, stderr %q; want 1, the flag and no password", a.code, a.errors)
	assert.True(t, strings.HasPrefix(a.errors, "--redis: "), "no server there: got exit %d, stderr %q; want 1, the flag and no password", a.code, a.errors)
	assert.NotContains(t, a.errors, "hush", "no server there: got exit %d, stderr %q; want 1, the flag and no password", a.code, a.errors)
	mustHoldOnly(t, dir)
}

// Interrupted before the end, it fails and leaves no files.
func TestRehearseInterrupted(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errors bytes.Buffer
	code := run(ctx, []string{"rehearse", "--script", five, "--out", filepath.Join(dir, "out")}, nil, nil, &out, &errors)
	assert.Equal(t, exitFailed, code, "got exit %d, stdout %q, stderr %q; want 1, nothing, and why", code, out.String(), errors.String())
	assert.LessOrEqual(t, out.Len(), 0, "got exit %d, stdout %q, stderr %q; want 1, nothing, and why", code, out.String(), errors.String())
	assert.NotEqual(t, 0, errors.Len(), "got exit %d, stdout %q, stderr %q; want 1, nothing, and why", code, out.String(), errors.String())
	mustHoldOnly(t, dir)
}
