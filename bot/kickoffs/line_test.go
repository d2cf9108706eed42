package kickoffs_test

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/kickoffs"
	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/state"
)

// deaf follows nothing.
type deaf struct{}

func (deaf) Follow(context.Context, kickoffs.Entry, []flows.Effect) error { return nil }

func newStore(rdb redis.UniversalClient) *kickoffs.Store {
	now := time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)
	return &kickoffs.Store{Journal: journal.New(rdb, journal.Options{}), Follower: deaf{}, Zones: new(zones.Cache),
		Clock: func() time.Time { return now }, Logger: slog.New(slog.DiscardHandler)}
}

var key = journal.Key{Team: "T1", Kickoff: "K1"}

// begin starts a kickoff of so many people, who may then vote on the framing.
func begin(t *testing.T, s *kickoffs.Store, people int) []state.UserID {
	t.Helper()
	var all []state.Person
	var ids []state.UserID
	for i := range people {
		id := state.UserID(fmt.Sprint("U", i))
		ids, all = append(ids, id), append(all, state.Person{ID: id, Zone: "Europe/Lisbon"})
	}
	for _, in := range []flows.Intent{
		flows.Start{FromOutside: flows.FromOutside{Who: "U0"}, ID: "K1", Team: "T1", Channel: "C1", People: all,
			Brief: state.Brief{Title: "Bicycles", Problem: "Nobody knows whether there is room on board."}},
		flows.CloseNow{ByLead: flows.ByLead{Who: "U0"}},
	} {
		require.NoError(t, s.Do(t.Context(), key, in, kickoffs.Origin{}))
	}
	return ids
}

func vote(who state.UserID, level int) flows.Intent {
	return flows.VoteFraming{By: flows.By{Who: who}, Level: level, Ticks: []int{0}}
}

func TestMain(m *testing.M) { storetest.Main(m) }

// Many write at once, through two processes; some deliveries come twice, and
// some people hang up. What was acknowledged is there, each once.
func TestManyWriteAtOnce(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		stores := []*kickoffs.Store{newStore(rdb), newStore(rdb)}
		people := begin(t, stores[0], 60)
		var all sync.WaitGroup
		var mu sync.Mutex
		acknowledged := map[state.UserID]bool{}
		for i, who := range people {
			for n := range 2 { // each delivery comes to both processes
				all.Go(func() {
					ctx, cancel := context.WithCancel(t.Context())
					defer cancel()
					if i%7 == 3 {
						time.AfterFunc(time.Duration(i)*50*time.Microsecond, cancel)
					}
					err := stores[n].Do(ctx, key, vote(who, i%5-2), kickoffs.Origin{Delivery: fmt.Sprint("click/", i)})
					if ctx.Err() == nil {
						assert.NoError(t, err, who)
					}
					mu.Lock()
					defer mu.Unlock()
					acknowledged[who] = acknowledged[who] || err == nil
				})
			}
		}
		all.Wait()
		entries, err := stores[0].Journal.Read(t.Context(), key, journal.Position{})
		require.NoError(t, err)
		written := map[string]int{}
		for i, e := range entries {
			assert.Equal(t, int64(i+1), e.Version)
			if e.Delivery != "" {
				written[e.Delivery]++
			}
		}
		for i, who := range people {
			n := written[fmt.Sprint("click/", i)]
			assert.LessOrEqual(t, n, 1, who)
			if acknowledged[who] {
				assert.Equal(t, 1, n, "the vote of %s was acknowledged", who)
			}
		}
		a, err := stores[0].Load(t.Context(), key)
		require.NoError(t, err)
		b, err := stores[1].Load(t.Context(), key)
		require.NoError(t, err)
		assert.Equal(t, a.Framing.Votes, b.Framing.Votes, "the processes hold different states")
	})
}

// Whoever waits behind somebody who hangs up is written all the same.
func TestNobodyWaitsForSomebodyWhoHungUp(t *testing.T) {
	t.Parallel()
	s := newStore(storetest.Client(t, storetest.Embedded(t)))
	people := begin(t, s, 20)
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for i, who := range people {
		ctx := t.Context()
		if i%2 == 0 {
			ctx = gone
		}
		err := s.Do(ctx, key, vote(who, 0), kickoffs.Origin{})
		if i%2 == 1 {
			assert.NoError(t, err, who)
		}
	}
}

// A rating that lands after its round was closed by another process does not
// count, and the person hears of it.
func TestLateRatingIsRefused(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		a, b := newStore(rdb), newStore(rdb)
		begin(t, a, 3)
		lead := flows.ByLead{Who: "U0"}
		for _, in := range []flows.Intent{
			flows.CloseNow{ByLead: lead}, flows.SettleFraming{ByLead: lead, Problem: "Nobody knows whether there is room on board."}, flows.LeaveOut{ByLead: lead, Stages: []state.Stage{state.StageRoles}},
			flows.AddAssumption{By: flows.By{Who: "U0"}, Text: "People look up the sailing at home."}, flows.CloseNow{ByLead: lead},
		} {
			require.NoError(t, a.Do(t.Context(), key, in, kickoffs.Origin{}), "%T", in)
		}
		rate := func(who state.UserID) flows.Intent {
			return flows.Rate{By: flows.By{Who: who}, Round: 1, Assumption: "A1", Scale: state.Importance, Value: 7}
		}
		require.NoError(t, b.Do(t.Context(), key, rate("U1"), kickoffs.Origin{})) // b has seen the round open
		require.NoError(t, a.Do(t.Context(), key, rate("U0"), kickoffs.Origin{}))
		require.NoError(t, b.Do(t.Context(), key, rate("U2"), kickoffs.Origin{}), "behind one of the other process")
		require.NoError(t, a.Do(t.Context(), key, flows.CloseNow{ByLead: lead}, kickoffs.Origin{}))
		err := b.Do(t.Context(), key, rate("U1"), kickoffs.Origin{})
		var refusal *flows.Refusal
		require.ErrorAs(t, err, &refusal)
		assert.Contains(t, refusal.Reason, "closed")
	})
}
