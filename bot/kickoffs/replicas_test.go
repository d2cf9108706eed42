package kickoffs_test

import (
	"errors"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
	"soundings/flows"
)

// While the replica stands still nothing is acknowledged: neither an answer,
// nor the same one sent again, nor one that would change nothing, nor one that
// its own first try stands in the way of. Afterwards each counts once.
func TestNothingAcknowledgedWithoutTheReplica(t *testing.T) {
	t.Parallel()
	primary := storetest.Server(t)
	replica := storetest.Replica(t, primary)
	rdb := storetest.Client(t, primary)
	s := newStore(rdb)
	ids := begin(t, s, 4)
	s.Journal = journal.New(rdb, journal.Options{Replicas: 1})
	other := newStore(rdb)
	other.Journal = s.Journal
	type try struct {
		in       flows.Intent
		delivery string
	}
	tries := []try{
		{vote(ids[1], 0), "vote"},
		{flows.Finish{By: flows.By{Who: ids[1]}, Stage: "framing"}, ""}, // the vote has finished it: there is nothing to write
		{flows.CloseNow{ByLead: flows.ByLead{Who: ids[0]}}, "close"},
	}
	thaw := storetest.Freeze(t, replica)
	for _, try := range tries {
		var both sync.WaitGroup
		for _, s := range []*kickoffs.Store{s, other} {
			both.Go(func() {
				for range 2 {
					err := s.Do(t.Context(), key, try.in, kickoffs.Origin{Delivery: try.delivery})
					assert.Error(t, err, try.delivery)
					assert.False(t, errors.As(err, new(*flows.Refusal)), "%v", err)
				}
			})
		}
		both.Wait()
	}
	thaw()
	tries = slices.DeleteFunc(tries, func(try try) bool { return try.delivery == "" })
	for _, try := range tries {
		// On a busy machine a replica that is well again may answer late.
		require.Eventually(t, func() bool {
			return s.Do(t.Context(), key, try.in, kickoffs.Origin{Delivery: try.delivery}) == nil
		}, 20*time.Second, time.Millisecond, try.delivery)
	}
	entries, err := s.Journal.Read(t.Context(), key, journal.Position{})
	require.NoError(t, err)
	counted := map[string]int{}
	for _, e := range entries {
		counted[e.Delivery]++
	}
	for _, try := range tries {
		assert.Equal(t, 1, counted[try.delivery], try.delivery)
	}
}
