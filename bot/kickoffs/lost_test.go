package kickoffs_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// follower keeps what is to be shown.
type follower struct{ shown map[string]int }

func (f *follower) Follow(_ context.Context, _ kickoffs.Entry, effects []flows.Effect) error {
	for _, e := range effects {
		f.shown[e.ID()]++
	}
	return nil
}

func voters(t *testing.T, s *kickoffs.Store) (all []state.UserID) {
	t.Helper()
	k, err := s.Load(t.Context(), key)
	require.NoError(t, err)
	for u := range k.Framing.Votes {
		all = append(all, u)
	}
	return all
}

// The server loses its last entries under a process that has seen them, and
// then hears nothing from others.
func TestTailLostInAQuietKickoff(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		s := newStore(rdb)
		told := &follower{shown: map[string]int{}}
		s.Follower = told
		ids := begin(t, s, 6)
		require.NoError(t, s.Do(t.Context(), key, vote(ids[0], 0), kickoffs.Origin{Delivery: "d0"}))
		restore := storetest.Copy(t, rdb)
		require.NoError(t, s.Do(t.Context(), key, vote(ids[1], 0), kickoffs.Origin{Delivery: "d1"}))
		posted := flows.Report{News: event.MessagePosted{Slot: "question/1", Posting: state.Posting{Channel: "C1", TS: "1.5"}}}
		require.NoError(t, s.Do(t.Context(), key, posted, kickoffs.Origin{}))
		require.NoError(t, s.Do(t.Context(), key, vote(ids[2], 0), kickoffs.Origin{Delivery: "d2"}))
		restore()

		require.NoError(t, s.Do(t.Context(), key, vote(ids[3], 0), kickoffs.Origin{Delivery: "d3"}), "the first press afterwards")
		assert.ElementsMatch(t, []state.UserID{ids[0], ids[3]}, voters(t, s))
		k, err := s.Load(t.Context(), key)
		require.NoError(t, err)
		assert.ElementsMatch(t, []state.UserID{ids[1], ids[2]}, k.Loss.People, "whose answers were lost")
		assert.Equal(t, []state.Posting{{Channel: "C1", TS: "1.5"}}, k.Loss.Strays)
		loss := fmt.Sprintf("show/loss/%d/@%s", k.Loss.After, ids[0])
		assert.Equal(t, 1, told.shown[loss], "the lead is told: %v", told.shown)
		assert.Equal(t, 1, told.shown["redraw/"], "what stands is drawn again")
		sameAsFolded(t, s, rdb)

		require.NoError(t, s.Do(t.Context(), key, vote(ids[1], 0), kickoffs.Origin{Delivery: "d1b"}), "who was asked again")
		assert.Len(t, voters(t, s), 3)
		assert.Equal(t, 1, told.shown[loss], "the lead is told once")
	})
}

// The server loses its last entries, and nobody presses anything afterwards: each
// sweep looks, also where another process has looked before.
func TestTailLostAndNobodyPresses(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		s, restarted := newStore(rdb), newStore(rdb)
		told := &follower{shown: map[string]int{}}
		s.Follower, restarted.Follower = told, told
		ids := begin(t, s, 6)
		restore := storetest.Copy(t, rdb)
		require.NoError(t, s.Do(t.Context(), key, vote(ids[1], 0), kickoffs.Origin{Delivery: "d1"}))
		require.NoError(t, s.SweepKickoff(t.Context(), key))
		restore()

		require.NoError(t, restarted.SweepKickoff(t.Context(), key), "of a process that had seen nothing")
		require.NoError(t, s.SweepKickoff(t.Context(), key))
		assert.Equal(t, 1, told.shown["redraw/"], "what stands is drawn again: %v", told.shown)
		k, err := s.Load(t.Context(), key)
		require.NoError(t, err)
		assert.Equal(t, []state.UserID{ids[1]}, k.Loss.People, "whose answer was lost")
		sameAsFolded(t, s, rdb)
	})
}

// sameAsFolded compares what a process holds with what another one reads.
func sameAsFolded(t *testing.T, s *kickoffs.Store, rdb redis.UniversalClient) {
	t.Helper()
	held, err := s.Load(t.Context(), key)
	require.NoError(t, err)
	folded, err := newStore(rdb).Load(t.Context(), key)
	require.NoError(t, err)
	assert.Equal(t, folded.Version, held.Version)
	assert.Equal(t, folded.Framing, held.Framing)
	assert.Equal(t, folded.Posted, held.Posted)
	assert.Equal(t, folded.Loss, held.Loss)
}

// The record grows again, through another process, to the number that a
// process has seen, and past it: no state goes on that never was.
func TestTailLostAndGrownAgain(t *testing.T) {
	t.Parallel()
	for _, others := range []int{1, 2, 3} { // fewer than were lost, as many, more
		t.Run(fmt.Sprint(others), func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
				a, b := newStore(rdb), newStore(rdb)
				ids := begin(t, a, 8)
				require.NoError(t, b.Do(t.Context(), key, vote(ids[0], 0), kickoffs.Origin{}))
				restore := storetest.Copy(t, rdb)
				for _, u := range ids[1:3] {
					require.NoError(t, a.Do(t.Context(), key, vote(u, 0), kickoffs.Origin{}))
				}
				restore()
				for _, u := range ids[3 : 3+others] {
					require.NoError(t, b.Do(t.Context(), key, vote(u, 0), kickoffs.Origin{}))
				}
				want := append([]state.UserID{ids[0], ids[7]}, ids[3:3+others]...)
				require.NoError(t, a.Do(t.Context(), key, vote(ids[7], 0), kickoffs.Origin{}))
				assert.ElementsMatch(t, want, voters(t, a), "the process that had seen what was lost")
				assert.ElementsMatch(t, want, voters(t, b), "the one that had not")
				sameAsFolded(t, a, rdb)
				sameAsFolded(t, b, rdb)
				k, err := b.Load(t.Context(), key)
				require.NoError(t, err)
				assert.ElementsMatch(t, ids[1:3], k.Loss.People)
			})
		})
	}
}

// Jobs of entries that were lost do nothing, also where others have their
// numbers now.
func TestEntriesThatStand(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		s := newStore(rdb)
		ids := begin(t, s, 4)
		restore := storetest.Copy(t, rdb)
		var seen []kickoffs.Entry
		collect := func() error {
			return s.Replay(t.Context(), key, 0, 1<<40, func(e kickoffs.Entry, _ []flows.Effect) error {
				seen = append(seen, e)
				return nil
			})
		}
		require.NoError(t, s.Do(t.Context(), key, vote(ids[1], 0), kickoffs.Origin{}))
		require.NoError(t, collect())
		restore()
		require.NoError(t, s.Do(t.Context(), key, vote(ids[2], 0), kickoffs.Origin{}))
		for i, e := range seen {
			stands, err := s.Stands(t.Context(), key, e.Position())
			require.NoError(t, err)
			assert.Equal(t, i < len(seen)-1, stands, "entry %d of %d", i+1, len(seen))
		}
	})
}

// A restore to nothing is a kickoff that is not there; nothing hangs.
func TestEverythingLost(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		s := newStore(rdb)
		restore := storetest.Copy(t, rdb)
		ids := begin(t, s, 4)
		restore()
		err := s.Do(t.Context(), key, vote(ids[1], 0), kickoffs.Origin{})
		assert.True(t, errors.As(err, new(*flows.Refusal)), "got %v", err)
	})
}

// failing fails one command, after so many others; none while it is negative.
type failing struct{ after int }

func (f *failing) DialHook(next redis.DialHook) redis.DialHook { return next }

func (f *failing) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		if f.after--; f.after == -1 {
			cmd.SetErr(errAway)
			return errAway
		}
		return next(ctx, cmd)
	}
}

func (f *failing) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return func(ctx context.Context, cmds []redis.Cmder) error {
		if f.after--; f.after == -1 {
			return errAway
		}
		return next(ctx, cmds)
	}
}

var errAway = errors.New("redis is away")

// A server that has lost entries may also fail while that is found out, at any
// step. Who had answered is told nevertheless, by the next to look.
func TestLossIsToldThoughTheServerFails(t *testing.T) {
	t.Parallel()
	for after := range 12 {
		rdb := storetest.Client(t, storetest.Embedded(t))
		fails := &failing{after: -1}
		rdb.AddHook(fails)
		s := newStore(rdb)
		ids := begin(t, s, 4)
		restore := storetest.Copy(t, rdb)
		require.NoError(t, s.Do(t.Context(), key, vote(ids[1], 0), kickoffs.Origin{}))
		restore()
		fails.after = after
		_, _ = s.Load(t.Context(), key)
		fails.after = -1
		k, err := s.Load(t.Context(), key)
		require.NoError(t, err)
		assert.Equal(t, []state.UserID{ids[1]}, k.Loss.People, "after a failure at command %d", after)
		sameAsFolded(t, s, rdb)
	}
}
