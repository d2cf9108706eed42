package journal_test

import (
	"fmt"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot/journal"
)

func snapshotForward(t *testing.T, f fixture) {
	wantSnapshot(t, f, 0, "")
	for _, step := range []struct {
		version int64
		data    string
		want    int64
		kept    string
	}{
		{5, "five", 5, "five"},
		{3, "three", 5, "five"},
		{5, "five anew", 5, "five anew"},
		{10, "ten \x00\xff", 10, "ten \x00\xff"},
		{9, "nine", 10, "ten \x00\xff"},
	} {
		must(t, "save", f.SaveSnapshot(t.Context(), f.key, journal.Position{Version: step.version}, []byte(step.data)))
		wantSnapshot(t, f, step.want, step.kept)
	}
}

func wantSnapshot(t *testing.T, f fixture, version int64, data string) {
	t.Helper()
	got, err := f.Snapshot(t.Context(), f.key)
	must(t, "read the snapshot", err)
	assert.Equal(t, version, got.Version, "Snapshot = %d, %q", got.Version, got.Data)
	assert.Equal(t, data, string(got.Data), "Snapshot = %d, %q", got.Version, got.Data)
}

func shownForward(t *testing.T, f fixture) {
	mark := func(v int64) error { return f.Marks.SetShown(t.Context(), f.key, "head", v) }
	read := func() (int64, error) { return f.Marks.Shown(t.Context(), f.key, "head") }
	forward(t, mark, read)
	other, err := f.Marks.Shown(t.Context(), f.key, "progress")
	assert.NoError(t, err, "Shown of another slot = %d", other)
	assert.Equal(t, int64(0), other, "Shown of another slot = %d", other)
}

func queuedForward(t *testing.T, f fixture) {
	mark := func(v int64) error { return f.Marks.SetQueued(t.Context(), f.key, v) }
	read := func() (int64, error) {
		got, err := f.Marks.Queued(t.Context(), []journal.Key{f.key})
		return slices.Max(append(got, 0)), err
	}
	forward(t, mark, read)
}

// forward checks a mark that only rises, also under many hands.
func forward(t *testing.T, mark func(int64) error, read func() (int64, error)) {
	t.Helper()
	for _, step := range []struct{ set, want int64 }{{0, 0}, {9, 9}, {7, 9}, {10, 10}} {
		must(t, "mark", mark(step.set))
		got, err := read()
		must(t, "read the mark", err)
		assert.Equal(t, step.want, got, "after %d the mark", step.set)
	}
	together(16, func(i int) {
		assert.NoError(t, mark(int64(100-i)), "mark")
	})
	got, err := read()
	assert.NoError(t, err, "after many marks the mark is %d", got)
	assert.Equal(t, int64(100), got, "after many marks the mark is %d", got)
}

func effectsDone(t *testing.T, f fixture) {
	done := func(effect string, want bool) {
		t.Helper()
		got, err := f.Marks.Done(t.Context(), f.key, effect)
		must(t, "ask", err)
		assert.Equal(t, want, got, "Done(%q)", effect)
	}
	done("3/show", false)
	for range 2 {
		must(t, "mark", f.Marks.SetDone(t.Context(), f.key, "3/show"))
	}
	done("3/show", true)
	done("4/show", false)
}

func begunOnce(t *testing.T, f fixture) {
	now := time.UnixMilli(1_800_000_000_123)
	var firsts atomic.Int64
	together(16, func(int) {
		first, _, err := f.Marks.Begin(t.Context(), f.key, "sending/stage", now)
		assert.NoError(t, err, "Begin")
		if first {
			firsts.Add(1)
		}
	})
	assert.Equal(t, int64(1), firsts.Load(), "of 16 were the first to begin")
	first, since, err := f.Marks.Begin(t.Context(), f.key, "sending/stage", now.Add(time.Hour))
	must(t, "begin", err)
	assert.False(t, first, "begun twice")
	assert.True(t, since.Equal(now), "begun at %v, want %v", since, now)
	first, _, err = f.Marks.Begin(t.Context(), f.key, "sending/other", now)
	must(t, "begin something else", err)
	assert.True(t, first, "something else")

	// Older releases noted it among what was done.
	must(t, "mark", f.Marks.SetDone(t.Context(), f.key, "sending/old"))
	for range 2 {
		first, since, err = f.Marks.Begin(t.Context(), f.key, "sending/old", now)
		must(t, "begin what an older release began", err)
		assert.False(t, first, "begun by an older release, and again")
		assert.True(t, since.IsZero(), "an older release noted no time, got %v", since)
	}
}

func claimOnce(t *testing.T, f fixture) {
	holders := make([]string, 16)
	together(len(holders), func(i int) {
		holder, err := f.Index.Claim(t.Context(), "T1", "C1", fmt.Sprint("K", i))
		assert.NoError(t, err, "Claim")
		holders[i] = holder
	})
	own := 0
	for i, holder := range holders {
		assert.Equal(t, holders[0], holder, "K%d was told that %s holds the channel, K0 that %s does", i, holder, holders[0])
		if holder == fmt.Sprint("K", i) {
			own++
		}
	}
	assert.Equal(t, 1, own, "kickoffs hold the channel")
	again, err := f.Index.Claim(t.Context(), "T1", "C1", holders[0])
	assert.False(t, err != nil || again != holders[0], "Claim again = %q, %v, want %q", again, err, holders[0])
	wantHolder(t, f, "C1", holders[0])
	wantHolder(t, f, "C2", "")
}

func wantHolder(t *testing.T, f fixture, channel, want string) {
	t.Helper()
	got, err := f.Index.InChannel(t.Context(), "T1", channel)
	must(t, "look up", err)
	assert.Equal(t, want, got, "InChannel(%s)", channel)
}

func (f fixture) claim(t *testing.T, team, channel, kickoff, want string) {
	t.Helper()
	got, err := f.Index.Claim(t.Context(), team, channel, kickoff)
	must(t, "claim", err)
	assert.Equal(t, want, got, "Claim(%s for %s)", channel, kickoff)
}

func releaseByHolder(t *testing.T, f fixture) {
	const odd = "K 1\n{}" // a space stands in the stored value too
	f.claim(t, "T1", "C1", odd, odd)
	must(t, "release by another", f.Index.Release(t.Context(), "T1", "C1", "K"))
	wantHolder(t, f, "C1", odd)
	must(t, "release", f.Index.Release(t.Context(), "T1", "C1", odd))
	wantHolder(t, f, "C1", "")
	must(t, "release again", f.Index.Release(t.Context(), "T1", "C1", odd))
	f.claim(t, "T1", "C1", "K2", "K2")
}

func abandonedClaim(t *testing.T, f fixture) {
	f.claim(t, "T1", "C1", "K1", "K1")
	f.claim(t, "T1", "C1", "K2", "K1") // K1 may be about to write its first entry
	must(t, "age the claim", f.rdb.HSet(t.Context(), f.opts.Prefix+":{T1}:channels", "C1", "1000 K1").Err())
	f.claim(t, "T1", "C1", "K1", "K1")
	f.add(t, 1) // to K1
	f.claim(t, "T1", "C1", "K2", "K1")
	must(t, "purge", f.Purge(t.Context(), f.key))
	must(t, "leave an old claim", f.rdb.HSet(t.Context(), f.opts.Prefix+":{T1}:channels", "C1", "1000 K1").Err())
	f.claim(t, "T1", "C1", "K2", "K2")
}
