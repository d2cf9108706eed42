package kickoffs_test

import (
	"context"
	"fmt"
	"slices"
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

// notes is a follower that writes down what it is told.
type notes struct {
	told map[journal.Key][]string
	fail error // of kickoff K1
}

func (n *notes) Follow(_ context.Context, e kickoffs.Entry, effects []flows.Effect) error {
	if n.fail != nil && e.Key.Kickoff == "K1" {
		return n.fail
	}
	n.told[e.Key] = append(n.told[e.Key], fmt.Sprint(e.Version, effects))
	return nil
}

// following is a process that follows nothing yet, beside others on rdb.
func following(rdb redis.UniversalClient) (*kickoffs.Store, *notes) {
	s, n := newStore(rdb), &notes{told: map[journal.Key][]string{}}
	s.Follower = n
	return s, n
}

// openMany opens so many kickoffs, each with a channel and an entry more than
// the one before.
func openMany(t *testing.T, s *kickoffs.Store, n int) (keys []journal.Key) {
	t.Helper()
	for i := range n {
		key := journal.Key{Team: "T1", Kickoff: fmt.Sprint("K", i+1)}
		channel := fmt.Sprint("C", i+1)
		_, err := s.Journal.Index.Claim(t.Context(), key.Team, channel, key.Kickoff)
		require.NoError(t, err)
		start := flows.Start{FromOutside: flows.FromOutside{Who: "U0"}, ID: key.Kickoff, Team: key.Team, Channel: channel,
			People: []state.Person{{ID: "U0", Zone: "Europe/Lisbon"}, {ID: "U1", Zone: "Europe/Lisbon"}, {ID: "U2", Zone: "Asia/Kolkata"}},
			Brief:  state.Brief{Title: "Bicycles", Problem: "Nobody knows whether there is room on board."}}
		ins := []flows.Intent{start, flows.CloseNow{ByLead: flows.ByLead{Who: "U0"}}}
		for v := range i {
			ins = append(ins, vote("U0", v%5-2))
		}
		for _, in := range ins {
			require.NoError(t, s.Do(t.Context(), key, in, kickoffs.Origin{}))
		}
		keys = append(keys, key)
	}
	return keys
}

// Of many kickoffs, each is loaded as by itself: from the cache, from a
// snapshot or from the start, also where it never was or is no more.
func TestLoadAll(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, writer := t.Context(), newStore(rdb)
		keys := openMany(t, writer, 70) // more than are asked for in one round trip
		require.NoError(t, writer.Sweep(ctx))
		seen := newStore(rdb)
		_, err := seen.LoadAll(ctx, keys)
		require.NoError(t, err)
		require.NoError(t, writer.Do(ctx, keys[2], vote("U1", 1), kickoffs.Origin{})) // seen has to catch up
		require.NoError(t, writer.Journal.Purge(ctx, keys[5]))
		keys = append(keys, journal.Key{Team: "T1", Kickoff: "never"})
		for name, s := range map[string]*kickoffs.Store{"cached": seen, "new": newStore(rdb)} {
			all, err := s.LoadAll(ctx, keys)
			require.NoError(t, err, name)
			require.Len(t, all, len(keys), name)
			for i, key := range keys {
				alone, err := newStore(rdb).Load(ctx, key)
				require.NoError(t, err)
				assert.Equal(t, alone.Version, all[i].Version, "%s: %v", name, key)
				assert.Equal(t, alone.ID, all[i].ID, "%s: %v", name, key)
				assert.Equal(t, alone.Framing.Votes, all[i].Framing.Votes, "%s: %v", name, key)
			}
		}
		none, err := seen.LoadAll(ctx, nil)
		assert.NoError(t, err)
		assert.Empty(t, none)
	})
}

// One that this release cannot read keeps nobody from the others.
func TestLoadAllButTheUnreadable(t *testing.T) {
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, writer := t.Context(), newStore(rdb)
		keys := openMany(t, writer, 3)
		seen := newStore(rdb)
		_, err := seen.LoadAll(ctx, keys)
		require.NoError(t, err)
		k, err := writer.Load(ctx, keys[1])
		require.NoError(t, err)
		newer := journal.Write{After: k.Version, Data: []byte(`{"at":"2027-03-01T09:00:00Z","events":[{"kind":"moon-seen","data":{}}]}`)}
		_, err = writer.Journal.Append(ctx, keys[1], newer)
		require.NoError(t, err)
		for name, s := range map[string]*kickoffs.Store{"cached": seen, "new": newStore(rdb)} {
			all, err := s.LoadAll(ctx, keys)
			require.NoError(t, err, name)
			assert.Equal(t, []string{keys[0].Kickoff, "", keys[2].Kickoff}, []string{all[0].ID, all[1].ID, all[2].ID}, name)
		}
	})
}

// A sweep that begins at a snapshot tells of the same effects as one that
// begins at the start; and of no entry that was queued.
func TestSweepFromSnapshot(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		ctx, writer := t.Context(), newStore(rdb)
		keys := openMany(t, writer, 3)
		for v := range 250 { // more than are folded before a snapshot is left
			require.NoError(t, writer.Do(ctx, keys[0], mute("U0", v), kickoffs.Origin{}))
		}
		first, before := following(rdb)
		require.NoError(t, first.Sweep(ctx))
		assert.Len(t, before.told[keys[0]], 252, "all that was never followed")
		at, err := first.Journal.Snapshot(ctx, keys[0])
		require.NoError(t, err)
		assert.Equal(t, int64(252), at.Version)
		queued, err := first.Journal.Marks.Queued(ctx, keys)
		require.NoError(t, err)
		assert.Equal(t, []int64{252, 3, 4}, queued)

		require.NoError(t, writer.Do(ctx, keys[0], mute("U1", 1), kickoffs.Origin{}))
		require.NoError(t, writer.Do(ctx, keys[0], flows.CloseNow{ByLead: flows.ByLead{Who: "U0"}}, kickoffs.Origin{}))
		second, told := following(rdb)
		require.NoError(t, second.Sweep(ctx))
		require.NoError(t, second.Sweep(ctx), "and finds nothing more")
		assert.Len(t, told.told, 1, "kickoffs with news")

		var whole []string
		err = newStore(rdb).Replay(ctx, keys[0], 0, 1000, func(e kickoffs.Entry, effects []flows.Effect) error {
			whole = append(whole, fmt.Sprint(e.Version, effects))
			return nil
		})
		require.NoError(t, err)
		assert.Equal(t, whole, slices.Concat(before.told[keys[0]], told.told[keys[0]]))

		require.NoError(t, second.Journal.Marks.ResetQueued(ctx, keys[0]))
		third, again := following(rdb)
		require.NoError(t, third.Sweep(ctx))
		assert.Equal(t, whole, again.told[keys[0]], "set back, it begins at the start although there is a snapshot")
	})
}

// mute is an entry that everybody can read: what follows from a ballot is the
// same in no replay after its box was emptied.
func mute(who state.UserID, n int) flows.Intent {
	return flows.Mute{By: flows.By{Who: who}, Off: n%2 == 0}
}

// What one kickoff has against it keeps no other from being swept.
func TestSweepGoesOnPastOneThatFails(t *testing.T) {
	t.Parallel()
	rdb := storetest.Client(t, storetest.Embedded(t))
	keys := openMany(t, newStore(rdb), 3)
	s, told := following(rdb)
	told.fail = context.DeadlineExceeded
	err := s.Sweep(t.Context())
	require.ErrorIs(t, err, told.fail)
	assert.ErrorContains(t, err, "K1")
	assert.Len(t, told.told, 2)
	told.fail = nil
	require.NoError(t, s.Sweep(t.Context()))
	assert.Len(t, told.told[keys[0]], 2, "what failed is told when it can be")
	assert.Len(t, told.told[keys[1]], 3, "and what was told is not told again")
}
