package rehearsal_test

import (
	"cmp"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/keeping"
	"soundings/bot/kickoffs"
	"soundings/bot/rehearsal"
	"soundings/bot/zones"
)

// mostMemory is what a kickoff of 15 people and 20 assumptions, with two rounds
// of rating, may take in Redis once it has ended, in bytes.
const mostMemory = 150_000

// What such a kickoff takes: MEMORY USAGE of all keys, when the last job is done
// and an hour later, when it is packed; and of each key then.
func BenchmarkMemory(b *testing.B) {
	script := crowded(b, 15, 20)
	for b.Loop() {
		rdb := storetest.Client(b, storetest.Server(b))
		j := journal.New(rdb, journal.Options{})
		p, err := rehearsal.NewPlay(rehearsal.PlayConfig{Scenario: script, Journal: j})
		require.NoError(b, err)
		require.NoError(b, p.Run(b.Context()))
		p.Close()
		ended, keys := memoryOf(b, rdb)
		tell(b, "at its end", ended, keys)
		tidy(b, j)
		packed, keys := memoryOf(b, rdb)
		tell(b, "an hour later", packed, keys)
		b.ReportMetric(float64(ended)/1000, "kB-at-its-end")
		b.ReportMetric(float64(packed)/1000, "kB-packed")
		assert.LessOrEqual(b, packed, int64(mostMemory))
	}
}

// tidy does what serve does each hour, long after everything has ended.
func tidy(b *testing.B, j *journal.Journal) {
	b.Helper()
	clock := func() time.Time { return time.Now().AddDate(100, 0, 0) } // the play has a clock of its own
	log := slog.New(slog.DiscardHandler)
	keeper := keeping.Keeper{Journal: j, Queue: jobs.NewVirtual(clock()), Clock: clock, Logger: log, KeepEnded: 1 << 62,
		Kickoffs: &kickoffs.Store{Journal: j, Zones: new(zones.Cache), Clock: clock, Logger: log}}
	require.NoError(b, keeper.Tidy(b.Context()))
}

type usage struct {
	key   string
	bytes int64
}

func memoryOf(b *testing.B, rdb redis.UniversalClient) (all int64, keys []usage) {
	b.Helper()
	names, err := rdb.Keys(b.Context(), "*").Result()
	require.NoError(b, err)
	for _, key := range names {
		bytes, err := rdb.MemoryUsage(b.Context(), key, 0).Result()
		require.NoError(b, err)
		all += bytes
		keys = append(keys, usage{key[strings.LastIndex(key, "}")+1:], bytes})
	}
	slices.SortFunc(keys, func(x, y usage) int { return cmp.Compare(y.bytes, x.bytes) })
	return all, keys
}

func tell(b *testing.B, when string, all int64, keys []usage) {
	b.Logf("%s: %d bytes", when, all)
	for _, k := range keys[:min(8, len(keys))] {
		b.Logf("%9d %s", k.bytes, k.key)
	}
}
