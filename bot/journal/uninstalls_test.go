package journal_test

import (
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

func TestUninstalls(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, j := t.Context(), journal.New(rdb, journal.Options{})
		began := time.Date(2030, 3, 4, 9, 0, 0, 5e6, time.UTC)
		check := func(what string, got bool, err error, want bool) {
			t.Helper()
			assert.NoError(t, err, what)
			assert.Equal(t, want, got, what)
		}
		_, away, err := j.Uninstalls.Get(ctx, "T1")
		check("before", away, err, false)
		first, err := j.Uninstalls.Add(ctx, "T1", began)
		check("the first word", first, err, true)
		first, err = j.Uninstalls.Add(ctx, "T1", began.Add(time.Hour))
		check("a second word", first, err, false)
		a, away, err := journal.New(rdb, journal.Options{}).Uninstalls.Get(ctx, "T1") // another process
		check("then", away, err, true)
		assert.True(t, a.Since.Equal(began), "away since %v, purging %v; want since %v", a.Since, a.Purging, began)
		assert.False(t, a.Purging, "away since %v, purging %v; want since %v", a.Since, a.Purging, began)
		_, away, err = j.Uninstalls.Get(ctx, "T2")
		check("another team", away, err, false)
		all, err := j.Uninstalls.All(ctx)
		assert.NoError(t, err, "Uninstalls.All = %v", all)
		assert.Equal(t, []string{"T1"}, slices.Collect(maps.Keys(all)), "Uninstalls.All = %v", all)

		stale := journal.Uninstall{Since: began.Add(-time.Hour)}
		back, err := j.Uninstalls.Remove(ctx, "T1", stale)
		check("back from an earlier uninstall", back, err, false)
		begun, err := j.Uninstalls.BeginPurge(ctx, "T1", stale)
		check("a purge for an earlier uninstall", begun, err, false)
		begun, err = j.Uninstalls.BeginPurge(ctx, "T1", a)
		check("its purge", begun, err, true)
		back, err = j.Uninstalls.Remove(ctx, "T1", a)
		check("back during the purge", back, err, false)
		a, _, err = j.Uninstalls.Get(ctx, "T1")
		check("it is purged", a.Purging, err, true)
		begun, err = j.Uninstalls.BeginPurge(ctx, "T1", a)
		check("its purge, after it was cut off", begun, err, true)
		assert.NoError(t, j.Uninstalls.EndPurge(ctx, "T1", a))
		_, away, err = j.Uninstalls.Get(ctx, "T1")
		check("afterwards", away, err, false)
		begun, err = j.Uninstalls.BeginPurge(ctx, "T1", a)
		check("a purge after all is over", begun, err, false)

		_, err = j.Uninstalls.Add(ctx, "T1", began)
		a, _, _ = j.Uninstalls.Get(ctx, "T1")
		check("away again", true, err, true)
		back, err = j.Uninstalls.Remove(ctx, "T1", a)
		check("back", back, err, true)
		assert.Equal(t, int64(0), rdb.DBSize(ctx).Val(), "keys are left")
	})
}

// Whoever has read of a record that was purged since is told, and does not
// take it for a quiet one.
func TestReadOfPurged(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, j, key := t.Context(), journal.New(rdb, journal.Options{}), journal.Key{Team: "T1", Kickoff: "k"}
		for version := range int64(2) {
			_, err := j.Append(ctx, key, journal.Write{Data: []byte("x"), After: version})
			require.NoError(t, err)
		}
		for after, want := range map[int64]int{0: 2, 1: 1, 2: 0} {
			got, err := j.Read(ctx, key, journal.Position{Version: after})
			assert.NoError(t, err, "after %d: %d entries", after, len(got))
			assert.Len(t, got, want, "after %d: %d entries", after, len(got))
		}
		require.NoError(t, j.Marks.SetQueued(ctx, key, 2))
		require.NoError(t, j.Marks.ResetQueued(ctx, key))
		got, err := j.Marks.Queued(ctx, []journal.Key{key})
		assert.NoError(t, err)
		assert.Equal(t, []int64{0}, got, "queued up to")
		require.NoError(t, j.Purge(ctx, key))
		_, err = j.Read(ctx, key, journal.Position{Version: 2})
		assert.ErrorIs(t, err, journal.ErrPurged)
		entries, err := j.Read(ctx, key, journal.Position{})
		assert.NoError(t, err, "from the start")
		assert.Empty(t, entries, "from the start")
	})
}
