package main

import (
	"archive/tar"
	"bytes"
	"encoding/json"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// keepDemo puts a finished kickoff, of an earlier release, into a journal, and
// returns the settings to read it.
func keepDemo(t *testing.T, key journal.Key) environ {
	t.Helper()
	return keepDemoAt(t, storetest.Embedded(t), key)
}

func keepDemoAt(t *testing.T, url string, key journal.Key) environ {
	t.Helper()
	j := journal.New(storetest.Client(t, url), journal.Options{})
	_, err := j.Index.Claim(t.Context(), key.Team, "C2", key.Kickoff)
	require.NoError(t, err)
	lines := bytes.Split(bytes.TrimSpace(read(t, "testdata/journals/v0-demo.jsonl")), []byte("\n"))
	for i, line := range lines {
		_, err := j.Append(t.Context(), key, journal.Write{Data: line, After: int64(i)})
		require.NoError(t, err)
	}
	return environ{"SOUNDINGS_REDIS_URL": url}
}

func TestExport(t *testing.T) {
	t.Parallel()
	e := keepDemo(t, journal.Key{Team: "T1", Kickoff: "K1"})
	out := filepath.Join(t.TempDir(), "new", "out")
	assert.Equal(t, "", e.good(t, "export", "--team", "T1", "--kickoff", "K1", "--out", out), "it printed")
	mustHoldOnly(t, out, filesLeft()...)
	for _, name := range filesLeft() {
		assert.NotEmpty(t, read(t, filepath.Join(out, name)), "%s is empty", name)
	}
	var kickoff struct{ Title string }
	data := read(t, filepath.Join(out, "kickoff.json"))
	assert.NoError(t, json.Unmarshal(data, &kickoff), "kickoff.json: title %q, err", kickoff.Title)
	assert.Equal(t, "Room for bicycles", kickoff.Title, "kickoff.json: title %q, err", kickoff.Title)
	assert.Equal(t, string(data), e.good(t, "export", "--team", "T1", "--kickoff", "K1", "--json"), "--json differs from kickoff.json")
}

// In a container that is read-only the files come out as a tar.
func TestExportAsTar(t *testing.T) {
	t.Parallel()
	e := keepDemo(t, journal.Key{Team: "T1", Kickoff: "K1"})
	archive := tar.NewReader(strings.NewReader(e.good(t, "export", "--team", "T1", "--kickoff", "K1", "--out", "-")))
	var names []string
	for {
		h, err := archive.Next()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		data, err := io.ReadAll(archive)
		require.NoError(t, err)
		assert.NotEmpty(t, data)
		names = append(names, strings.TrimPrefix(h.Name, "K1/"))
	}
	assert.ElementsMatch(t, filesLeft(), names)
}

func TestExportList(t *testing.T) {
	t.Parallel()
	e := keepDemo(t, journal.Key{Team: "T1", Kickoff: "K1"})
	const text = `team   kickoff   channel   stage   started      title
T1     K1        C2        ended   1 Mar 2027   Room for bicycles
`
	got := e.good(t, "export", "--list")
	assert.Equal(t, text, got, "got:\n%s\nwant", got)
	assert.Equal(t, "There are no kickoffs.\n", e.good(t, "export", "--list", "--team", "T2"), "another team")
	var all []map[string]string
	err := json.Unmarshal([]byte(e.good(t, "export", "--list", "--json")), &all)
	require.NoError(t, err, "got %v, err %v; want one kickoff", all, err)
	require.Len(t, all, 1, "got %v, err %v; want one kickoff", all, err)
	for name, want := range map[string]string{"team": "T1", "kickoff": "K1", "channel": "C2", "stage": "ended",
		"started": "2027-03-01T09:00:00Z", "title": "Room for bicycles"} {
		assert.Equal(t, want, all[0][name], name)
	}
	assert.Equal(t, "[]\n", e.good(t, "export", "--list", "--json", "--team", "T2"), "another team, as JSON")
}

func TestExportRefusals(t *testing.T) {
	t.Parallel()
	e := keepDemo(t, journal.Key{Team: "T1", Kickoff: "K1"})
	out := filepath.Join(t.TempDir(), "out")
	for _, tt := range []struct{ rule, args, want string }{
		{"no team", "--kickoff K1 --out " + out, "--team is missing: the id of the team, such as T0123"},
		{"no kickoff", "--team T1 --out " + out, "--kickoff is missing: the id of the kickoff, as --list shows it"},
		{"no folder", "--team T1 --kickoff K1", "--out is missing: write the files into this folder, which is made if need be; with -, print them as a tar"},
		{"a file for a folder", "--team T1 --kickoff K1 --out go.mod", "--out takes a folder, and go.mod is none"},
		{"two ways out", "--team T1 --kickoff K1 --json --out " + out, "--json prints and --out writes: leave out one of them"},
		{"a list of one", "--list --kickoff K1", "--list names kickoffs and writes none: leave out --kickoff and --out"},
		{"a kickoff of another team", "--team T2 --kickoff K1 --out " + out, "there is no kickoff K1 in team T2; soundings export --list names those that there are"},
		{"a kickoff that there is not", "--team T1 --kickoff K2 --json", "there is no kickoff K2 in team T1; soundings export --list names those that there are"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			e.mustRefuse(t, tt.want, append([]string{"export"}, strings.Fields(tt.args)...)...)
		})
	}
	mustHoldOnly(t, filepath.Dir(out))
}

// What a later release wrote is not folded as if it were something else, and
// nothing is written.
func TestExportOfALaterRelease(t *testing.T) {
	t.Parallel()
	url := storetest.Embedded(t)
	j := journal.New(storetest.Client(t, url), journal.Options{})
	entry := journal.Write{Data: []byte(`{"At":"2027-03-01T09:00:00Z","Events":[{"kind":"of a later release"}]}`)}
	_, err := j.Append(t.Context(), journal.Key{Team: "T1", Kickoff: "K1"}, entry)
	require.NoError(t, err)
	_, err = j.Index.Claim(t.Context(), "T1", "C1", "K1")
	require.NoError(t, err)
	out := t.TempDir()
	a := environ{"SOUNDINGS_REDIS_URL": url}.call(t, "", "export", "--team", "T1", "--kickoff", "K1", "--out", out)
	assert.Equal(t, exitFailed, a.code, "exit %d, stderr %q; want 1 and the entry", a.code, a.errors)
	assert.True(t, strings.HasPrefix(a.errors, "read kickoff K1: entry 1: "), "exit %d, stderr %q; want 1 and the entry", a.code, a.errors)
	assert.Contains(t, a.errors, "later release?", "exit %d, stderr %q; want 1 and the entry", a.code, a.errors)
	mustHoldOnly(t, out)
	a = environ{"SOUNDINGS_REDIS_URL": url}.call(t, "", "export", "--list")
	assert.Equal(t, exitFailed, a.code)
	assert.Empty(t, a.out, "that there are none would be wrong")
	assert.Contains(t, a.errors, "read kickoff K1: entry 1: ")
}

func TestExportNeedsRedis(t *testing.T) {
	t.Parallel()
	mustRefuse(t, "SOUNDINGS_REDIS_URL is missing: set it to the Redis that keeps the journal, such as redis://localhost:6379/0", "export", "--list")
	a := environ{"SOUNDINGS_REDIS_URL": "redis://:made-up-5@127.0.0.1:1/0"}.call(t, "", "export", "--list")
	assert.Equal(t, exitFailed, a.code, "no server there: exit %d, stderr %q; want 1, the setting and no password", a.code, a.errors)
	assert.True(t, strings.HasPrefix(a.errors, "SOUNDINGS_REDIS_URL: "), "no server there: exit %d, stderr %q; want 1, the setting and no password", a.code, a.errors)
	assert.NotContains(t, a.errors, "made-up-5", "no server there: exit %d, stderr %q; want 1, the setting and no password", a.code, a.errors)
}
