package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// A durable is a real server that writes to disk, with what a backup needs to know.
type durable struct {
	url, dir, cli string
	rdb           redis.UniversalClient
}

func newDurable(t *testing.T) durable {
	t.Helper()
	for _, program := range []string{"sh", "redis-cli"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("no %s on the path", program)
		}
	}
	return durableAt(t, storetest.Durable(t))
}

func durableAt(t *testing.T, url string) durable {
	t.Helper()
	rdb := storetest.Client(t, url)
	dir, err := rdb.ConfigGet(t.Context(), "dir").Result()
	require.NoError(t, err)
	return durable{url, dir["dir"], "redis-cli -u " + url, rdb}
}

// backup runs the script, and returns what it says and whether all was well.
func backup(t *testing.T, cli string, args ...string) (said string, well bool) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "sh", append([]string{"deploy/backup.sh"}, args...)...)
	cmd.Env = append(os.Environ(), "REDIS="+cli)
	out, err := cmd.CombinedOutput()
	return string(out), err == nil
}

func newFolder(t *testing.T) string { return filepath.Join(t.TempDir(), "new") }

// holds compares a kickoff with the one of another store.
func (s durable) holds(t *testing.T, want string) {
	t.Helper()
	assert.Equal(t, want, environ{"SOUNDINGS_REDIS_URL": s.url}.good(t, "export", "--team", "T1", "--kickoff", "K1", "--json"))
}

// A copy that is made while a kickoff runs, people answering, is whole, and what
// was acknowledged before it began is in it.
func TestBackupWhileAKickoffRuns(t *testing.T) {
	t.Parallel()
	from := newDurable(t)
	want := keepDemoAt(t, from.url, journal.Key{Team: "T1", Kickoff: "K1"}).good(t, "export", "--team", "T1", "--kickoff", "K1", "--json")
	stop, stopped := make(chan struct{}), make(chan int, 1)
	go func() { // somebody answers all the time
		j, key := journal.New(from.rdb, journal.Options{}), journal.Key{Team: "T1", Kickoff: "K2"}
		for n := 0; ; n++ {
			select {
			case <-stop:
				stopped <- n
				return
			default:
				if _, err := j.Append(t.Context(), key, journal.Write{Data: []byte(`{"at":"2027-03-01T09:00:00Z"}`), After: int64(n)}); !assert.NoError(t, err) {
					stopped <- n
					return
				}
			}
		}
	}()
	copied := newFolder(t)
	said, well := backup(t, from.cli, "save", from.dir, copied)
	close(stop)
	assert.NotZero(t, <-stopped)
	require.True(t, well, said)
	assert.Equal(t, fmt.Sprintf("Kickoffs in %s: 2\n", copied), said)
	usual, err := from.rdb.ConfigGet(t.Context(), "auto-aof-rewrite-percentage").Result()
	require.NoError(t, err)
	assert.Equal(t, "100", usual["auto-aof-rewrite-percentage"], "Redis rewrites its file again")

	folder := newFolder(t)
	said, well = backup(t, "", "restore", copied, folder)
	require.True(t, well, said)
	durableAt(t, storetest.On(t, folder)).holds(t, want)

	said, well = backup(t, "", "restore", copied, folder)
	assert.False(t, well)
	assert.Contains(t, said, "is not empty")
}

// Redis takes the old files away at the end of a rewrite: a copy that was made by
// hand meanwhile lacks one.
func TestTornBackup(t *testing.T) {
	t.Parallel()
	from := newDurable(t)
	keepDemoAt(t, from.url, journal.Key{Team: "T1", Kickoff: "K1"})
	copied := newFolder(t)
	_, well := backup(t, from.cli, "save", from.dir, copied)
	require.True(t, well)
	files := glob(t, filepath.Join(copied, "appendonlydir", "*.aof"))
	require.NoError(t, os.Remove(files[0]))
	said, well := backup(t, "", "check", copied)
	assert.False(t, well)
	assert.Contains(t, said, "is torn or damaged: Redis does not load it. Use another copy.")
	folder := newFolder(t)
	_, well = backup(t, "", "restore", copied, folder)
	assert.False(t, well)
	assert.NoDirExists(t, folder, "nothing of it was put anywhere")
}

// Redis with appendonly yes does not read a dump.rdb, and does not say so. The
// script makes an append-only file of it, and check tells of an empty Redis.
func TestBackupThatIsADump(t *testing.T) {
	t.Parallel()
	from := newDurable(t)
	want := keepDemoAt(t, from.url, journal.Key{Team: "T1", Kickoff: "K1"}).good(t, "export", "--team", "T1", "--kickoff", "K1", "--json")
	require.NoError(t, from.rdb.Save(t.Context()).Err())
	copied := t.TempDir()
	dump, err := os.ReadFile(filepath.Join(from.dir, "dump.rdb"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(copied, "dump.rdb"), dump, 0o600))

	var all findings
	trap := durableAt(t, storetest.On(t, copied))
	all.examineContent(t.Context(), trap.rdb)
	require.Len(t, all, 1, "Redis has read the dump: the trap is gone")
	assert.Contains(t, all[0].Text, "does not read a dump.rdb")

	copied = t.TempDir() // the other has an append-only file by now, an empty one
	require.NoError(t, os.WriteFile(filepath.Join(copied, "dump.rdb"), dump, 0o600))
	folder := newFolder(t)
	said, well := backup(t, "", "restore", copied, folder)
	require.True(t, well, said)
	assert.True(t, strings.HasPrefix(said, "There is a dump.rdb alone."), said)
	restored := durableAt(t, storetest.On(t, folder))
	restored.holds(t, want)
	all = nil
	all.examineContent(t.Context(), restored.rdb)
	assert.Empty(t, all)
}
