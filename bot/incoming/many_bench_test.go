package incoming_test

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"runtime"
	"runtime/metrics"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// rated lets everybody of the bench's kickoff rate everything, and returns its
// entries.
func (b *bench) rated() []journal.Entry {
	b.tb.Helper()
	for _, who := range b.people {
		for a := range b.assumptions {
			for _, scale := range []state.Scale{state.Importance, state.Evidence} {
				in := flows.Rate{By: flows.By{Who: who}, Round: 1, Assumption: fmt.Sprintf("A%d", a+1), Scale: scale, Value: 1 + a%9}
				require.NoError(b.tb, b.bot.Kickoffs.Do(b.tb.Context(), b.key, in, kickoffs.Origin{}))
			}
		}
	}
	entries, err := b.bot.Journal.Read(b.tb.Context(), b.key, journal.Position{})
	require.NoError(b.tb, err)
	return entries
}

// copied writes the entries as those of another kickoff, in a channel of its
// own, and more after them.
func (b *bench) copied(n int, entries []journal.Entry, more ...event.Event) journal.Key {
	b.tb.Helper()
	ctx, j := b.tb.Context(), b.bot.Journal
	key := journal.Key{Team: b.key.Team, Kickoff: fmt.Sprintf("K%d", n)}
	channel := fmt.Sprintf("C%05d", n)
	var writes []journal.Write
	for i, e := range entries {
		data := bytes.ReplaceAll(e.Data, []byte(`"K1"`), []byte(strconv.Quote(key.Kickoff)))
		data = bytes.ReplaceAll(data, []byte(strconv.Quote(b.channel)), []byte(strconv.Quote(channel)))
		writes = append(writes, journal.Write{Data: data, After: int64(i)})
	}
	for _, e := range more {
		data, err := event.Record{At: time.Now().UTC(), Events: []event.Event{e}}.MarshalJSON()
		require.NoError(b.tb, err)
		writes = append(writes, journal.Write{Data: data, After: int64(len(writes))})
	}
	_, err := j.Index.Claim(ctx, key.Team, channel, key.Kickoff)
	require.NoError(b.tb, err)
	versions, err := j.AppendAll(ctx, key, writes)
	require.NoError(b.tb, err)
	require.Len(b.tb, versions, len(writes))
	return key
}

// A countingFollower counts the entries it is told of.
type countingFollower struct{ told atomic.Int64 }

func (f *countingFollower) Follow(context.Context, kickoffs.Entry, []flows.Effect) error {
	f.told.Add(1)
	return nil
}

// mostHeap samples the heap until stop is called, which gives the most that
// was in use.
func mostHeap() (stop func() uint64) {
	done, most := make(chan struct{}), make(chan uint64)
	go func() {
		sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
		var top uint64
		for tick := time.NewTicker(5 * time.Millisecond); ; {
			metrics.Read(sample)
			top = max(top, sample[0].Value.Uint64())
			select {
			case <-tick.C:
			case <-done:
				tick.Stop()
				most <- top
				return
			}
		}
	}()
	return func() uint64 { close(done); return <-most }
}

// again appends a kickoff's last entries to it once more.
func (b *bench) again(key journal.Key, entries []journal.Entry, last int64) {
	b.tb.Helper()
	var writes []journal.Write
	for i, e := range entries {
		writes = append(writes, journal.Write{Data: e.Data, After: last + int64(i)})
	}
	_, err := b.bot.Journal.AppendAll(b.tb.Context(), key, writes)
	require.NoError(b.tb, err)
}

// The first sweep of a process that starts beside 1,000 open kickoffs of 12
// people, each with about 200 entries and swept before, of which the last three
// were never followed; and the next sweep, which finds nothing to do.
func BenchmarkStart1000(bm *testing.B) {
	b := newBench(bm, 12, 8)
	entries := b.rated()
	var keys []journal.Key
	for n := range 1000 {
		keys = append(keys, b.copied(n+2, entries))
	}
	follower := &countingFollower{}
	started := func() *kickoffs.Store {
		return &kickoffs.Store{Journal: b.bot.Journal, Follower: follower, Zones: new(zones.Cache), Clock: time.Now, Logger: slog.New(slog.DiscardHandler)}
	}
	require.NoError(bm, started().Sweep(bm.Context()))
	last := int64(len(entries))
	var first, next, busy time.Duration
	var most uint64
	bm.ResetTimer()
	for range bm.N {
		bm.StopTimer()
		for _, key := range keys {
			b.again(key, entries[len(entries)-3:], last)
		}
		last += 3
		store, before := started(), follower.told.Load()
		runtime.GC()
		stop, at, spent := mostHeap(), time.Now(), cpu(bm)
		bm.StartTimer()
		require.NoError(bm, store.Sweep(bm.Context()))
		first, busy = first+time.Since(at), busy+cpu(bm)-spent
		most = max(most, stop())
		require.GreaterOrEqual(bm, follower.told.Load()-before, int64(3000), "entries that were told of")
		at = time.Now()
		require.NoError(bm, store.Sweep(bm.Context()))
		next += time.Since(at)
		runtime.KeepAlive(store)
	}
	bm.ReportMetric(float64(first.Milliseconds())/float64(bm.N), "first-ms")
	bm.ReportMetric(float64(busy.Milliseconds())/float64(bm.N), "first-cpu-ms")
	bm.ReportMetric(float64(next.Milliseconds())/float64(bm.N), "next-ms")
	bm.ReportMetric(float64(most)/1e6, "heap-MB")
}

// The home tab of somebody in 200 kickoffs, opened in a process that has seen
// none of them, and again.
func BenchmarkHome200(bm *testing.B) {
	// Of those that have ended, the first opening drops what is not shown.
	for name, more := range map[string][]event.Event{"open": nil, "ended": {event.Abandoned{}}} {
		bm.Run(name, func(bm *testing.B) {
			b := newBench(bm, 12, 8)
			entries := b.rated()
			for n := range 200 {
				key := b.copied(n+2, entries, more...)
				require.NoError(bm, b.bot.Journal.Index.Join(bm.Context(), key, string(b.people[1])))
			}
			opened := fmt.Appendf(nil, `{"type":"event_callback","team_id":%q,"event_id":"E1","event":{"type":"app_home_opened","tab":"home","user":%q}}`, b.key.Team, b.people[1])
			var first, again, busy time.Duration
			for range bm.N {
				bm.StopTimer()
				made := b.another()
				bm.StartTimer()
				at, spent := time.Now(), cpu(bm)
				require.NoError(bm, made.Event(bm.Context(), opened))
				first, busy = first+time.Since(at), busy+cpu(bm)-spent
				at = time.Now()
				require.NoError(bm, made.Event(bm.Context(), opened))
				again += time.Since(at)
			}
			bm.ReportMetric(float64(first.Milliseconds())/float64(bm.N), "first-ms")
			bm.ReportMetric(float64(busy.Milliseconds())/float64(bm.N), "first-cpu-ms")
			bm.ReportMetric(float64(again.Milliseconds())/float64(bm.N), "again-ms")
		})
	}
}
