package journal_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// A replica that has stopped: nothing is acknowledged, not even what was stored
// before. Once it goes on, the same delivery is there once.
func TestReplicaThatStopped(t *testing.T) {
	t.Parallel()
	primary := storetest.Server(t)
	replica := storetest.Replica(t, primary)
	rdb := storetest.Client(t, primary)
	j := journal.New(rdb, journal.Options{Replicas: 1})
	key := journal.Key{Team: "T1", Kickoff: "K1"}
	write := func(delivery string) error {
		_, err := j.Append(t.Context(), key, journal.Write{Data: []byte("rating"), Delivery: delivery, Commutes: true})
		return err
	}
	// On a busy machine a replica that is well may answer late, as a delivery that
	// is sent again then finds.
	arrives := func(delivery string) {
		t.Helper()
		require.Eventually(t, func() bool {
			err := write(delivery)
			return err == nil || errors.Is(err, journal.ErrDuplicate)
		}, 20*time.Second, time.Millisecond, delivery)
	}
	arrives("d1")
	require.NoError(t, j.Replicated(t.Context(), key))
	assert.ErrorIs(t, write("d1"), journal.ErrDuplicate)

	thaw := storetest.Freeze(t, replica)
	began := time.Now()
	assert.ErrorIs(t, write("d2"), journal.ErrNotReplicated)
	assert.Less(t, time.Since(began), 20*time.Second, "it waits for no replica that does not answer")
	// Sent again, over whichever connection, it is stored already; and still it is not safe.
	other := journal.New(storetest.Client(t, primary), journal.Options{Replicas: 1})
	_, err := other.Append(t.Context(), key, journal.Write{Data: []byte("rating"), Delivery: "d2", Commutes: true})
	assert.ErrorIs(t, err, journal.ErrNotReplicated, "the duplicate was acknowledged")
	assert.ErrorIs(t, other.Replicated(t.Context(), key), journal.ErrNotReplicated)

	thaw()
	arrives("d2")
	entries, err := j.Read(t.Context(), key, journal.Position{})
	require.NoError(t, err)
	assert.Len(t, entries, 2)
	_, err = j.Append(t.Context(), key, journal.Write{Data: []byte("late"), After: 1})
	assert.ErrorIs(t, err, journal.ErrConflict, "a conflict waits for nobody")
	arrives("d3")
	require.NoError(t, rdb.ScriptFlush(t.Context()).Err())
	arrives("d4") // with the script as well

	gone := journal.Key{Team: "T1", Kickoff: "K2"}
	require.NoError(t, j.Replicated(t.Context(), gone))
	assert.Empty(t, rdb.Keys(t.Context(), "*K2*").Val(), "a record that is not there")
}

// The primary dies while people answer, and its replica takes over: whatever
// was acknowledged is there, once.
func TestFailoverLosesNothingAcknowledged(t *testing.T) {
	t.Parallel()
	primary := storetest.Server(t)
	storetest.Replica(t, primary)
	rdb := storetest.Client(t, storetest.Watched(t, primary))
	j := journal.New(rdb, journal.Options{Replicas: 1})
	key := journal.Key{Team: "T1", Kickoff: "K1"}
	var acknowledged []string
	n := 0
	write := func() error {
		delivery := fmt.Sprint("d", n)
		_, err := j.Append(t.Context(), key, journal.Write{Data: []byte(delivery), Delivery: delivery, Commutes: true})
		if err == nil {
			acknowledged = append(acknowledged, delivery)
		}
		n++
		return err
	}
	for len(acknowledged) < 100 {
		require.Less(t, n, 1000, "hardly anything is acknowledged")
		_ = write() // counted where it succeeds
	}
	storetest.Kill(t, primary)
	for range 20 {
		if errors.Is(write(), journal.ErrNotReplicated) {
			break // the replica has taken over, and has none itself
		}
	}
	var entries []journal.Entry
	require.Eventually(t, func() (done bool) {
		var err error
		entries, err = journal.New(rdb, journal.Options{}).Read(t.Context(), key, journal.Position{})
		return err == nil
	}, 30*time.Second, 50*time.Millisecond, "nobody has taken over")
	stored := map[string]int{}
	for _, e := range entries {
		stored[e.Delivery]++
	}
	for _, delivery := range acknowledged {
		assert.Equal(t, 1, stored[delivery], delivery)
	}
	// The new primary has no replica: nothing more is acknowledged.
	_, err := j.Append(t.Context(), key, journal.Write{Data: []byte("after"), Delivery: "after", Commutes: true})
	assert.ErrorIs(t, err, journal.ErrNotReplicated)
}

// In a cluster the one server is asked that holds the kickoff.
func TestReplicasInACluster(t *testing.T) {
	t.Parallel()
	rdb := storetest.Client(t, storetest.Cluster(t))
	require.IsType(t, new(redis.ClusterClient), rdb)
	j := journal.New(rdb, journal.Options{Replicas: 1})
	for n := range 2 {
		key := journal.Key{Team: "T1", Kickoff: fmt.Sprint("K", n)}
		_, err := j.Append(t.Context(), key, journal.Write{Data: []byte("a"), Delivery: "d"})
		assert.ErrorIs(t, err, journal.ErrNotReplicated, "there is no replica")
		entries, err := j.Read(t.Context(), key, journal.Position{})
		require.NoError(t, err)
		assert.Len(t, entries, 1)
	}
}
