package flows

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/event"
	"soundings/flows/state"
)

const journals = "../testdata/journals/"

// TestFinishedJournalsFoldForEver folds the finished journals of every
// release. Each has its end state beside it; a fold that comes out otherwise
// would change what a group agreed on. A journal is never written anew: when
// a release adds events, add one of its own.
func TestFinishedJournalsFoldForEver(t *testing.T) {
	files, err := filepath.Glob(journals + "*.jsonl")
	require.NoError(t, err, "no journals found")
	require.NotEmpty(t, files, "no journals found")
	kinds := map[string]bool{}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".jsonl")
		t.Run(name, func(t *testing.T) {
			records := readJournal(t, file)
			k := holdFolds(t, records)
			assert.Equal(t, state.StageEnded, k.Stage, "the journal ends at stage %s, so it is not finished", k.Stage)
			for _, r := range records {
				for _, e := range r.Events {
					kinds[event.KindOf(e)] = true
				}
			}
			holdEnd(t, journals+name+".end.json", k)
		})
	}
	for _, kind := range event.Kinds() {
		assert.True(t, kinds[kind], "no finished journal holds the event %q, so nothing keeps it readable", kind)
	}
}

// readJournal reads a journal, an entry a line.
func readJournal(t *testing.T, file string) []event.Record {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	var records []event.Record
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, 1<<24)
	for lines.Scan() {
		var r event.Record
		require.NoError(t, json.Unmarshal(lines.Bytes(), &r), "%s, line %d", file, len(records)+1)
		records = append(records, r)
	}
	require.NoError(t, lines.Err())
	return records
}

// holdEnd compares an end state with the one that is kept. A state that has
// got further fields since is written anew with -rewrite; look at the diff.
func holdEnd(t *testing.T, file string, k state.Kickoff) {
	t.Helper()
	if rewriting() {
		data, err := json.MarshalIndent(k, "", " ")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(file, append(data, '\n'), 0o644))
	}
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	var want state.Kickoff
	require.NoError(t, json.Unmarshal(data, &want), file)
	assert.Empty(t, diff(k, want), "the journal folds to another end")
}

// release is the newest in the list of changes, out or not.
func release(t *testing.T) string {
	t.Helper()
	list, err := os.ReadFile("../deploy/CHANGELOG.md")
	require.NoError(t, err)
	named := regexp.MustCompile(`(?m)^## (\d+\.\d+\.\d+)$`).FindSubmatch(list)
	require.NotNil(t, named)
	return "v" + string(named[1])
}

// TestScriptedJournals plays the scripts from which this release's journals
// come, and with -rewrite writes those where there are none yet. To renew one
// before the release is out, remove the file first. Those called v0 were written
// before the first release.
func TestScriptedJournals(t *testing.T) {
	for _, name := range []string{"demo", "summary", "left", "sought", "lost", "ballots", "dealt", "later", "small", "tidied"} {
		t.Run(name, func(t *testing.T) { scriptedJournal(t, name, newWorld()) })
	}
	t.Run("extras", func(t *testing.T) { scriptedJournal(t, "extras", usual(t, "close")) })
}

func scriptedJournal(t *testing.T, name string, from *world) {
	t.Helper()
	s := &script{world: from}
	s.posts = true
	for _, row := range scriptLines(t, "../testdata/flows/"+name+".script") {
		s.quiet(t, row)
	}
	require.Equal(t, state.StageEnded, s.k.Stage, "where the script ends, at %s", clock(s.now))
	file := journals + release(t) + "-" + name + ".jsonl"
	if _, err := os.Stat(file); !rewriting() {
		require.NoError(t, err, "this release has no such journal: write it with -rewrite")
		return
	} else if !errors.Is(err, os.ErrNotExist) {
		return
	}
	var out bytes.Buffer
	for _, r := range s.journal {
		out.WriteString(marshal(t, r) + "\n")
	}
	require.NoError(t, os.WriteFile(file, out.Bytes(), 0o644))
}

// FuzzRecord feeds the decoder what no release has written: it may refuse it,
// and never panics. What it takes is written and read again alike.
func FuzzRecord(f *testing.F) {
	files, err := filepath.Glob(journals + "*.jsonl")
	require.NoError(f, err, "no journals found to begin with")
	require.NotEmpty(f, files, "no journals found to begin with")
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(f, err)
		for row := range bytes.Lines(data) {
			f.Add(row)
		}
	}
	for _, seed := range []string{"", "null", "{}", "[]", `{"events":null}`, `{"events":[null]}`, `{"events":[{"kind":"rated"}]}`,
		`{"events":[{"kind":"rated","data":null}]}`, `{"events":[{"kind":"round-counted","data":{"Result":{"order":[null]}}}]}`,
		`{"at":"yesterday"}`, `{"events":[{"kind":"checkin-closed","data":{"N":1,"Moved":[]}}]}`, `{"events":[{"kind":"started","data":{"People":[{"Days":[1e99]}]}}]}`, "\xff\xfe"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var r event.Record
		if json.Unmarshal(data, &r) != nil {
			return
		}
		for _, e := range r.Events {
			require.NotNil(t, e, "%q was read with an event that is none", data)
		}
		again, err := reread(r)
		require.NoError(t, err, "%q was read, and its record cannot be written and read again", data)
		require.Empty(t, diffWritten(again, r), "%q comes back changed", data)
	})
}
