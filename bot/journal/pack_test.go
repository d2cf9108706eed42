package journal_test

import (
	"fmt"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// onAllKinds runs a test on every store there is, a cluster among them.
func onAllKinds(t *testing.T, test func(t *testing.T, rdb redis.UniversalClient)) {
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) { test(t, rdb) })
	t.Run("cluster", func(t *testing.T) { test(t, storetest.Client(t, storetest.Cluster(t))) })
}

func asItIs(data []byte) ([]byte, error) { return data, nil }

// A packed record reads as it was from every position, and whoever writes to it
// finds it as it was.
func TestPack(t *testing.T) {
	t.Parallel()
	onAllKinds(t, func(t *testing.T, rdb redis.UniversalClient) {
		j := journal.New(rdb, journal.Options{Page: 7})
		key, other := journal.Key{Team: "T1", Kickoff: "K1"}, journal.Key{Team: "T1", Kickoff: "K2"}
		for i := range 40 {
			w := journal.Write{Data: fmt.Append(nil, "entry \xff\x00 ", i), After: int64(i)}
			if i%2 == 0 {
				w.Delivery = fmt.Sprint("d", i)
			}
			_, err := j.Append(t.Context(), key, w)
			require.NoError(t, err)
		}
		_, err := j.Append(t.Context(), other, journal.Write{Data: []byte("another")})
		require.NoError(t, err)
		want, err := j.Read(t.Context(), key, journal.Position{})
		require.NoError(t, err)
		require.NoError(t, j.SaveSnapshot(t.Context(), key, want[9].Position(), []byte("state")))
		same := func() {
			t.Helper()
			for i := range want {
				got, err := j.Read(t.Context(), key, want[i].Position())
				require.NoError(t, err)
				assert.Len(t, got, len(want)-i-1)
				has, err := j.Has(t.Context(), key, want[i].Position())
				require.NoError(t, err)
				assert.True(t, has)
			}
			got, err := j.Read(t.Context(), key, journal.Position{})
			require.NoError(t, err)
			assert.Equal(t, want, got)
			last := want[len(want)-1].Position()
			for _, after := range []journal.Position{{}, want[20].Position(), last} {
				news, err := j.ReadAll(t.Context(), []journal.Key{key, other}, []journal.Position{after, {}})
				require.NoError(t, err)
				require.NoError(t, news[0].Err)
				assert.Len(t, news[0].Entries, len(want)-int(after.Version))
				assert.Len(t, news[1].Entries, 1)
			}
			_, err = j.Read(t.Context(), key, journal.Position{Version: last.Version, Digest: "of another entry"})
			assert.ErrorIs(t, err, journal.ErrDiverged)
			_, err = j.Read(t.Context(), key, journal.Position{Version: last.Version + 1, Digest: last.Digest})
			assert.ErrorIs(t, err, journal.ErrDiverged)
			has, err := j.Has(t.Context(), key, journal.Position{Version: 3, Digest: last.Digest})
			require.NoError(t, err)
			assert.False(t, has)
		}
		same()
		require.NoError(t, j.Pack(t.Context(), key, asItIs))
		require.NoError(t, j.Pack(t.Context(), key, asItIs), "again")
		assert.Empty(t, rdb.Keys(t.Context(), "snd:{T1/K1}:entries").Val())
		assert.Empty(t, rdb.Keys(t.Context(), "snd:{T1/K1}:snapshot").Val())
		same()

		_, err = j.Append(t.Context(), key, journal.Write{Data: []byte("late"), After: 39})
		assert.ErrorIs(t, err, journal.ErrConflict)
		version, err := j.Append(t.Context(), key, journal.Write{Data: []byte("more"), After: 40})
		require.NoError(t, err)
		assert.EqualValues(t, 41, version)
		want, err = j.Read(t.Context(), key, journal.Position{})
		require.NoError(t, err)
		require.Len(t, want, 41)
		same()
		require.NoError(t, j.Pack(t.Context(), key, asItIs))
		require.NoError(t, j.Purge(t.Context(), key))
		_, err = j.Read(t.Context(), key, want[3].Position())
		assert.ErrorIs(t, err, journal.ErrPurged)
	})
}

// Packing may keep less of an entry, but of the last one, by which readers know that
// nothing is new. That something is not as it was is noted.
func TestPackKeepsLess(t *testing.T) {
	t.Parallel()
	onAllKinds(t, func(t *testing.T, rdb redis.UniversalClient) {
		j := journal.New(rdb, journal.Options{})
		key := journal.Key{Team: "T1", Kickoff: "K1"}
		for i, data := range []string{"a", "sealed", "sealed"} {
			_, err := j.Append(t.Context(), key, journal.Write{Data: []byte(data), After: int64(i)})
			require.NoError(t, err)
		}
		read, err := j.Read(t.Context(), key, journal.Position{})
		require.NoError(t, err)
		last := read[2].Position()
		require.NoError(t, j.Pack(t.Context(), key, func(data []byte) ([]byte, error) { return data[:1], nil }))
		news, err := j.Read(t.Context(), key, last)
		require.NoError(t, err)
		assert.Empty(t, news)
		read, err = j.Read(t.Context(), key, journal.Position{})
		require.NoError(t, err)
		require.Len(t, read, 3)
		assert.Equal(t, []string{"a", "s", "sealed"}, []string{string(read[0].Data), string(read[1].Data), string(read[2].Data)})
		rewritten, err := j.Marks.Rewritten(t.Context(), key)
		require.NoError(t, err)
		assert.True(t, rewritten)
	})
}
