package kickoffs_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
	"soundings/flows"
	"soundings/flows/state"
)

// One's own ballot is visible to oneself, through whichever process, until it
// is counted. From then on every process holds the same state, whether or not
// it could open the box, and nothing in the journal names who gave what.
func TestBallotsAreNobodysOnceCounted(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, a, b := t.Context(), newStore(rdb), newStore(rdb)
		begin(t, a, 5)
		for i, who := range []state.UserID{"U0", "U1", "U2", "U3"} {
			require.NoError(t, []*kickoffs.Store{a, b}[i%2].Do(ctx, key, vote(who, i-1), kickoffs.Origin{}), who)
		}
		for name, s := range map[string]*kickoffs.Store{"one": a, "another": b, "a fresh one": newStore(rdb)} {
			k, err := s.Load(ctx, key)
			require.NoError(t, err)
			assert.Len(t, k.Framing.Votes, 4, name)
			assert.Equal(t, 1, k.Framing.Votes["U2"].Level, name)
			assert.Len(t, k.Window.Done, 4, name)
		}
		assert.NotContains(t, journalText(t, a), "framing-voted", "a ballot can be read in the journal")

		require.NoError(t, a.Do(ctx, key, vote("U4", 2), kickoffs.Origin{}), "the last one closes the window")
		before := loadAll(t, a, b, newStore(rdb))
		require.NoError(t, a.DestroyKeys(ctx, key))
		keys, err := a.Journal.Boxes.Keys(ctx, key)
		require.NoError(t, err)
		assert.Empty(t, keys)
		for i, k := range append(before, loadAll(t, a, b, newStore(rdb))...) {
			assert.Equal(t, before[0], k, "state %d differs", i)
		}
		k, err := b.Load(ctx, key)
		require.NoError(t, err)
		assert.Equal(t, 5, k.Framing.Level.N)
		assert.Empty(t, k.Framing.Votes)
		assert.Equal(t, 5, flows.Heard(&k, k.Window))
		text := journalText(t, a)
		closing := text[strings.LastIndex(text, "window-closed"):]
		assert.NotContains(t, closing, `"U4"`, "the end of the window names who gave the last answer")
	})
}

// loadAll gives what stores hold, as it is written down.
func loadAll(t *testing.T, all ...*kickoffs.Store) (out []string) {
	t.Helper()
	for _, s := range all {
		k, err := s.Load(t.Context(), key)
		require.NoError(t, err)
		data, err := json.Marshal(k)
		require.NoError(t, err)
		out = append(out, string(data))
	}
	return out
}

func journalText(t *testing.T, s *kickoffs.Store) string {
	t.Helper()
	entries, err := s.Journal.Read(t.Context(), key, journal.Position{})
	require.NoError(t, err)
	var all strings.Builder
	for _, e := range entries {
		all.Write(e.Data)
		all.WriteByte('\n')
	}
	return all.String()
}

// A process that has not seen a box emptied cannot put anything into it, nor
// make its key again.
func TestAnEmptiedBoxStaysEmptied(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, a, b := t.Context(), newStore(rdb), newStore(rdb)
		begin(t, a, 3)
		_, err := b.Load(ctx, key)
		require.NoError(t, err, "b has seen the window open")
		require.NoError(t, a.Do(ctx, key, flows.CloseNow{ByLead: flows.ByLead{Who: "U0"}}, kickoffs.Origin{}))
		require.NoError(t, a.DestroyKeys(ctx, key))
		require.NoError(t, a.DestroyKeys(ctx, key), "twice is fine")

		err = b.Do(ctx, key, vote("U1", 1), kickoffs.Origin{})
		var refusal *flows.Refusal
		require.ErrorAs(t, err, &refusal)
		_, err = b.Journal.Boxes.Key(ctx, key, "framing/1")
		require.ErrorIs(t, err, journal.ErrEmptied)
	})
}

// Several processes that make the key of a box at once make one.
func TestOneKeyForABox(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		made := make(chan []byte)
		for range 16 {
			go func() {
				k, _ := newStore(rdb).Journal.Boxes.Key(context.Background(), key, "rating/1")
				made <- k
			}()
		}
		first := <-made
		require.Len(t, first, 32)
		for range 15 {
			assert.Equal(t, first, <-made)
		}
	})
}

// A snapshot that shows what is in several boxes takes the key of each, and is no
// longer for it than one that shows one.
func TestASnapshotOfManyBoxesTakesEachKey(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, writer := t.Context(), newStore(rdb)
		people := begin(t, writer, 3)
		lead := flows.ByLead{Who: people[0]}
		do := func(in flows.Intent) {
			t.Helper()
			require.NoError(t, writer.Do(ctx, key, in, kickoffs.Origin{}))
		}
		k := func() state.Kickoff {
			k, err := writer.Load(ctx, key)
			require.NoError(t, err)
			return k
		}
		do(flows.CloseNow{ByLead: lead}) // framing
		do(flows.SettleFraming{ByLead: lead, Problem: "Nobody knows."})
		do(flows.CloseNow{ByLead: lead}) // roles
		do(flows.SettleRoles{ByLead: lead})
		do(flows.AddAssumption{By: flows.By{Who: people[0]}, Text: "People look before they leave."})
		do(flows.CloseNow{ByLead: lead}) // assumptions
		do(flows.CloseNow{ByLead: lead}) // rating
		for range 30 {
			do(flows.AddTest{By: flows.By{Who: people[0]}, Plan: state.Plan{Assumption: "A1", Method: fmt.Sprint("Way ", len(k().Backlog.Tests)), PassShare: 0.5}})
		}
		do(flows.CloseNow{ByLead: lead}) // backlog
		for n := range 30 {
			for v := range 6 {
				do(flows.Foresee{By: flows.By{Who: people[v%3]}, Test: n + 1, Percent: state.Shares()[(n+v)%5]})
			}
		}
		require.NoError(t, newStore(rdb).SweepKickoff(ctx, key))
		kept, err := writer.Journal.Snapshot(ctx, key)
		require.NoError(t, err)
		require.Positive(t, kept.Version, "no snapshot was left")
		assert.NotContains(t, string(kept.Data), "Said")
		plain, err := json.Marshal(k())
		require.NoError(t, err)
		assert.Less(t, len(kept.Data), 2*len(plain))
		states := loadAll(t, writer, newStore(rdb))
		assert.Equal(t, states[0], states[1])
		assert.Len(t, k().Foresight, 30)

		do(flows.Reopen{ByLead: lead})
		do(flows.WithdrawTest{By: flows.By{Who: people[0]}, N: 7})
		require.NoError(t, writer.DestroyKeys(ctx, key))
		states = loadAll(t, writer, newStore(rdb))
		assert.Equal(t, states[0], states[1], "folded from the start, since one of the keys is gone")
		assert.Len(t, k().Foresight, 29)
	})
}

// A snapshot that shows ballots is sealed, and is of no use once they are
// counted; whoever starts then folds from the start.
func TestSnapshotsAreSealed(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, writer := t.Context(), newStore(rdb)
		begin(t, writer, 3)
		var all sync.WaitGroup
		for v := range 210 { // at once, so that they are a handful of round trips
			all.Go(func() {
				assert.NoError(t, writer.Do(ctx, key, vote([]state.UserID{"U0", "U1"}[v%2], v%5-2), kickoffs.Origin{}))
			})
		}
		all.Wait()
		require.NoError(t, newStore(rdb).SweepKickoff(ctx, key))
		kept, err := writer.Journal.Snapshot(ctx, key)
		require.NoError(t, err)
		require.Positive(t, kept.Version)
		assert.NotContains(t, string(kept.Data), "Votes")
		k, err := newStore(rdb).Load(ctx, key)
		require.NoError(t, err)
		assert.Len(t, k.Framing.Votes, 2)

		require.NoError(t, writer.Do(ctx, key, flows.CloseNow{ByLead: flows.ByLead{Who: "U0"}}, kickoffs.Origin{}))
		require.NoError(t, writer.DestroyKeys(ctx, key))
		states := loadAll(t, writer, newStore(rdb))
		assert.Equal(t, states[0], states[1])
	})
}
