package journal_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// The suite runs on every store: what holds for one must hold for all.
func TestJournal(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) { suite(t, rdb) })
}

// A cluster refuses a script or command whose keys lie in several slots.
func TestJournalOnCluster(t *testing.T) {
	t.Parallel()
	suite(t, storetest.Client(t, storetest.Cluster(t)))
}

func TestJournalBehindSentinel(t *testing.T) {
	t.Parallel()
	rdb := storetest.Client(t, storetest.Sentinel(t))
	f := fixture{Journal: journal.New(rdb, journal.Options{}), key: journal.Key{Team: "T1", Kickoff: "K1"}, rdb: rdb}
	appendInOrder(t, f)
}

// suite runs all tests of the journal on one store, each on a kickoff of its
// own.
func suite(t *testing.T, rdb redis.UniversalClient) {
	tests := []struct {
		name string
		test func(*testing.T, fixture)
	}{
		{"entries are numbered in order", appendInOrder},
		{"a record that moved on refuses", refusesConflict},
		{"one of many wins each version", raceForVersions},
		{"commuting writes all get in", raceCommuting},
		{"a delivery is written once", deliveryOnce},
		{"a delivery sent many times at once is written once", deliveryRace},
		{"a delivery is known even when the record moved on", duplicateBeforeConflict},
		{"a delivery is forgotten in the end", deliveryForgotten},
		{"numbers go on after a trim", numbersAfterTrim},
		{"large and odd entries come back whole", largeEntries},
		{"too large an entry is refused", tooLarge},
		{"reading turns pages", readsPages},
		{"reading notices a gap", readGap},
		{"a decision on what was lost is refused", refusedOnLost},
		{"hostile names keep apart", hostileNames},
		{"a snapshot never goes back", snapshotForward},
		{"what is shown never goes back", shownForward},
		{"the sweeper's cursor never goes back", queuedForward},
		{"effects are noted as done", effectsDone},
		{"one of many is the first to begin", begunOnce},
		{"one kickoff holds a channel", claimOnce},
		{"only the holder releases", releaseByHolder},
		{"a claim left behind gives way", abandonedClaim},
		{"open kickoffs are listed", listsOpen},
		{"people find their kickoffs", peopleIndex},
		{"who has left finds a kickoff no more", leftIndex},
		{"of many kickoffs, each is read as by itself", readsMany},
		{"a channel is greeted once", greetedOnce},
		{"profiles are kept for the day", profilesOfTheDay},
		{"a purge leaves nothing", purgeLeavesNothing},
		{"a purged team leaves nothing, others stay", purgeTeam},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := journal.Options{Prefix: fmt.Sprintf("test%d", i)}
			tt.test(t, fixture{
				Journal: journal.New(rdb, o), rdb: rdb, opts: o,
				key: journal.Key{Team: "T1", Kickoff: "K1"},
			})
		})
	}
}

// A fixture is a journal on a store of which it has a part to itself.
type fixture struct {
	*journal.Journal
	rdb  redis.UniversalClient
	opts journal.Options
	key  journal.Key
}

// with returns the fixture with other options on the same keys.
func (f fixture) with(change func(*journal.Options)) fixture {
	change(&f.opts)
	f.Journal = journal.New(f.rdb, f.opts)
	return f
}

// add appends n commuting entries "1", "2" and so on.
func (f fixture) add(t *testing.T, n int) {
	t.Helper()
	for i := range n {
		f.write(t, journal.Write{Data: fmt.Append(nil, i+1), Commutes: true})
	}
}

func (f fixture) write(t *testing.T, w journal.Write) int64 {
	t.Helper()
	version, err := f.Append(t.Context(), f.key, w)
	require.NoError(t, err, "Append(%d bytes after %d)", len(w.Data), w.After)
	return version
}

func (f fixture) read(t *testing.T, after int64) []journal.Entry {
	t.Helper()
	entries, err := f.Read(t.Context(), f.key, journal.Position{Version: after})
	require.NoError(t, err, "Read after %d", after)
	return entries
}

// left lists the keys that still begin with the fixture's prefix.
func (f fixture) left(t *testing.T) []string {
	t.Helper()
	keys, err := f.rdb.Keys(t.Context(), f.opts.Prefix+":*").Result()
	require.NoError(t, err)
	return keys
}

// together runs fn n times at once and waits.
func together(n int, fn func(i int)) {
	done := make(chan struct{})
	for i := range n {
		go func() {
			defer func() { done <- struct{}{} }()
			fn(i)
		}()
	}
	for range n {
		<-done
	}
}

func wantError(t *testing.T, what string, got, want error) {
	t.Helper()
	assert.ErrorIs(t, got, want, what)
}

func must(t *testing.T, what string, err error) {
	t.Helper()
	require.NoError(t, err, what)
}

// Whatever cannot reach Redis says so, rather than inventing an answer.
func TestFailuresAreReported(t *testing.T) {
	t.Parallel()
	url, stop, err := journal.StartEmbedded()
	must(t, "start", err)
	rdb := storetest.Client(t, url)
	stop()
	j, ctx, key := journal.New(rdb, journal.Options{}), t.Context(), journal.Key{Team: "T1", Kickoff: "K1"}
	calls := map[string]func() error{
		"Append":        func() error { _, err := j.Append(ctx, key, journal.Write{}); return err },
		"Read":          func() error { _, err := j.Read(ctx, key, journal.Position{}); return err },
		"Snapshot":      func() error { _, err := j.Snapshot(ctx, key); return err },
		"SaveSnapshot":  func() error { return j.SaveSnapshot(ctx, key, journal.Position{Version: 1}, nil) },
		"Shown":         func() error { _, err := j.Marks.Shown(ctx, key, "s"); return err },
		"SetShown":      func() error { return j.Marks.SetShown(ctx, key, "s", 1) },
		"Done":          func() error { _, err := j.Marks.Done(ctx, key, "e"); return err },
		"SetDone":       func() error { return j.Marks.SetDone(ctx, key, "e") },
		"Begin":         func() error { _, _, err := j.Marks.Begin(ctx, key, "e", time.Unix(1_800_000_000, 0)); return err },
		"Uploaded":      func() error { _, err := j.Marks.Uploaded(ctx, key, "f"); return err },
		"SetUploaded":   func() error { return j.Marks.SetUploaded(ctx, key, "f", "F1") },
		"ForgetUploads": func() error { return j.Marks.ForgetUploads(ctx, key, "f") },
		"Queued":        func() error { _, err := j.Marks.Queued(ctx, []journal.Key{key}); return err },
		"Last":          func() error { _, err := j.Last(ctx, []journal.Key{key}); return err },
		"Snapshots":     func() error { _, err := j.Snapshots(ctx, []journal.Key{key}); return err },
		"ReadAll":       func() error { _, err := j.ReadAll(ctx, []journal.Key{key}, make([]journal.Position, 1)); return err },
		"SetQueued":     func() error { return j.Marks.SetQueued(ctx, key, 1) },
		"Claim":         func() error { _, err := j.Index.Claim(ctx, "T1", "C1", "K1"); return err },
		"Release":       func() error { return j.Index.Release(ctx, "T1", "C1", "K1") },
		"InChannel":     func() error { _, err := j.Index.InChannel(ctx, "T1", "C1"); return err },
		"Open":          func() error { _, err := j.Index.Open(ctx); return err },
		"All":           func() error { _, err := j.Index.All(ctx, "T1"); return err },
		"Join":          func() error { return j.Index.Join(ctx, journal.Key{Team: "T1", Kickoff: "K1"}, "U1") },
		"Leave":         func() error { return j.Index.Leave(ctx, key, "U1") },
		"Channels":      func() error { _, err := j.Index.Channels(ctx, "T1"); return err },
		"Of":            func() error { _, err := j.Index.Of(ctx, "T1", "U1"); return err },
		"Purge":         func() error { return j.Purge(ctx, key) },
		"PurgeTeam":     func() error { return j.PurgeTeam(ctx, "T1") },
	}
	for name, call := range calls {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			assert.Error(t, call(), "%s reported no error without Redis", name)
		})
	}
}

// A context that has ended stops every call.
func TestEndedContext(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		j := journal.New(rdb, journal.Options{})
		_, err := j.Append(ctx, journal.Key{Team: "T1", Kickoff: "K1"}, journal.Write{})
		wantError(t, "Append", err, context.Canceled)
	})
}
