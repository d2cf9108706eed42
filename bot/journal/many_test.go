package journal_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
)

// readsMany asks of many kickoffs at once, among them one that never was, one
// that was purged, one with a gap, and several that fill pages.
func readsMany(t *testing.T, f fixture) {
	f = f.with(func(o *journal.Options) { o.Page = 3 })
	ctx := t.Context()
	none, err := f.ReadAll(ctx, nil, nil)
	require.NoError(t, err)
	assert.Empty(t, none)

	keys := []journal.Key{{Team: "T1", Kickoff: "never"}, {Team: "T1", Kickoff: "purged"}, {Team: "T2", Kickoff: "gap"}}
	for n := range 8 {
		keys = append(keys, journal.Key{Team: "T1", Kickoff: fmt.Sprint("K", n)})
	}
	for n, key := range keys[1:] {
		f.key = key
		f.add(t, n+1) // never is 0, purged 1, gap 2, K0 3, and so on
		if n%2 == 1 {
			must(t, "save", f.SaveSnapshot(ctx, key, journal.Position{Version: int64(n)}, fmt.Append(nil, "state ", n)))
			must(t, "queue", f.Marks.SetQueued(ctx, key, int64(n)))
		}
	}
	must(t, "purge", f.Purge(ctx, keys[1]))
	must(t, "delete", f.rdb.XDel(ctx, fmt.Sprintf("%s:{T2/gap}:entries", f.opts.Prefix), "1-0").Err())

	last, err := f.Last(ctx, keys)
	require.NoError(t, err)
	assert.Equal(t, []int64{0, 0, 2, 3, 4, 5, 6, 7, 8, 9, 10}, last)
	queued, err := f.Marks.Queued(ctx, keys)
	require.NoError(t, err)
	assert.Equal(t, []int64{0, 0, 1, 0, 3, 0, 5, 0, 7, 0, 9}, queued)
	kept, err := f.Snapshots(ctx, keys)
	require.NoError(t, err)
	for i, snapshot := range kept {
		assert.Equal(t, queued[i], snapshot.Version, keys[i])
		if queued[i] > 0 {
			assert.Equal(t, fmt.Sprint("state ", queued[i]), string(snapshot.Data), keys[i])
		}
	}
	for _, after := range []int64{0, 1, 3} {
		at := make([]journal.Position, len(keys))
		for i := range at {
			at[i].Version = after
		}
		all, err := f.ReadAll(ctx, keys, at)
		require.NoError(t, err)
		for i, news := range all {
			want, err := f.Read(ctx, keys[i], at[i])
			assert.Equal(t, want, news.Entries, "%v after %d", keys[i], after)
			assert.Equal(t, err == nil, news.Err == nil, "%v after %d: %v", keys[i], after, news.Err)
		}
		assert.Equal(t, after > 0, all[0].Err != nil, "nothing is there")
	}
	all, err := f.ReadAll(ctx, keys, make([]journal.Position, len(keys)))
	require.NoError(t, err)
	assert.ErrorIs(t, all[2].Err, journal.ErrGap)
	_, err = f.ReadAll(ctx, []journal.Key{{Team: "T1"}}, make([]journal.Position, 1))
	assert.Error(t, err, "a kickoff without a name")
}
