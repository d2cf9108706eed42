package bot_test

import (
	"context"
	"net"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// The server loses a whole stage under a running bot: its result and the next
// stage's question already stand in the channel. What never was is taken away,
// the lead reads whose answers are gone, and the kickoff is played on to its
// end with nothing standing twice.
func TestStageLostByTheStore(t *testing.T) {
	t.Parallel()
	rdb := storetest.Client(t, storetest.Embedded(t))
	loseAStage(t, rdb, func() (lose func()) { return storetest.Copy(t, rdb) })
}

// The same in a failover of real servers: the replica had stopped to follow
// when it takes over from a primary that dies.
func TestStageLostInAFailover(t *testing.T) {
	t.Parallel()
	primary := storetest.Server(t)
	replica := storetest.Replica(t, primary)
	var current atomic.Value
	current.Store(addressOf(t, primary))
	rdb := redis.NewClient(&redis.Options{Dialer: func(ctx context.Context, _, _ string) (net.Conn, error) {
		return new(net.Dialer).DialContext(ctx, "tcp", current.Load().(string))
	}})
	t.Cleanup(func() { _ = rdb.Close() })
	follower := storetest.Client(t, replica)
	loseAStage(t, rdb, func() (lose func()) {
		conn := rdb.Conn() // WAIT is about what its own connection wrote
		defer conn.Close()
		require.NoError(t, conn.Set(t.Context(), "mark", 1, 0).Err())
		require.EqualValues(t, 1, conn.Wait(t.Context(), 1, 10*time.Second).Val())
		require.NoError(t, follower.Do(t.Context(), "REPLICAOF", "127.0.0.1", "1").Err())
		return func() {
			storetest.Kill(t, primary)
			require.NoError(t, follower.Do(t.Context(), "REPLICAOF", "NO", "ONE").Err())
			current.Store(addressOf(t, replica))
		}
	})
}

func addressOf(t *testing.T, address string) string {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	return u.Host
}

// loseAStage plays a script of which the store loses one stage, and returns to
// what stood when mark was called.
func loseAStage(t *testing.T, rdb redis.UniversalClient, mark func() (lose func())) {
	t.Helper()
	h := newTestBot(t, options{rdb: rdb})
	scenes := script()[:scenesPlayed]
	n := 0
	for ; scenes[n].stage != "roles"; n++ {
		scenes[n].play(h)
	}
	lose := mark()
	scenes[n].play(h)
	before := h.slots()
	require.Equal(t, 1, before["stage/assumptions"], "the stage that is lost has closed: %v", before)
	lose()

	h.press("bo", "open/assumptions.add")
	h.settle()
	require.Empty(t, h.clock.Failed())
	after := h.slots()
	assert.Zero(t, after["stage/assumptions"], "the next stage's question still stands: %v", after)
	assert.Zero(t, after["result/roles"], "the result still stands: %v", after)
	assert.Equal(t, 1, after["stage/roles"])
	loss := ""
	for _, m := range h.ws.Messages(h.ws.DM(h.ids["ana"])) {
		if strings.Contains(m.Text, "were lost") {
			assert.Empty(t, loss, "the lead is told twice")
			loss = m.Text
		}
	}
	for _, name := range []string{"Ana", "Bo", "Cy", "Eve"} {
		assert.Contains(t, loss, name)
	}
	for _, scene := range scenes[n:] {
		scene.play(h)
	}
	require.Empty(t, h.clock.Failed())
	for slot, count := range h.slots() {
		assert.Equal(t, 1, count, "%s stands", slot)
	}
	if scenesPlayed == len(script()) {
		assert.Equal(t, 1, h.slots()["summary"])
	}
}

// A copy of one stage before is restored while no bot runs. Nobody has seen
// what is gone, but the channel shows it: the bot that starts takes away what
// never was, brings the rest up to date, and tells the lead, once.
func TestRestoredWhileStopped(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		h := newTestBot(t, options{rdb: rdb})
		scenes := script()[:scenesPlayed]
		n := 0
		for ; scenes[n].stage != "roles"; n++ {
			scenes[n].play(h)
		}
		compare := func() (behind []journal.Key) {
			h.restart()
			compared, behind, err := h.bot.Compare(t.Context())
			require.NoError(t, err)
			require.Equal(t, 1, compared)
			h.settle()
			require.Empty(t, h.clock.Failed())
			return behind
		}
		require.Empty(t, compare(), "nothing was restored")
		restore := storetest.Copy(t, rdb)
		scenes[n].play(h)
		restore()

		require.Len(t, compare(), 1)
		after := h.slots()
		assert.Zero(t, after["stage/assumptions"], "the next stage's question still stands: %v", after)
		assert.Zero(t, after["result/roles"], "the result still stands: %v", after)
		k, err := h.bot.Kickoffs.Load(t.Context(), h.key())
		require.NoError(t, err)
		for _, m := range h.ws.Messages(h.channel) {
			if m.Metadata != nil {
				entry, _ := m.Metadata.EventPayload["entry"].(float64)
				assert.LessOrEqual(t, int64(entry), k.Version, "%s was not brought up to date", m.Metadata.EventPayload["slot"])
			}
		}
		told := func() (n int) {
			for _, m := range h.ws.Messages(h.ws.DM(h.ids["ana"])) {
				if strings.Contains(m.Text, "were lost") {
					assert.Contains(t, m.Text, "ask everybody to look")
					n++
				}
			}
			return n
		}
		assert.Equal(t, 1, told())
		assert.Empty(t, compare(), "at the next start")
		assert.Equal(t, 1, told())
		for _, scene := range scenes[n:] {
			scene.play(h)
		}
		require.Empty(t, h.clock.Failed())
		for slot, count := range h.slots() {
			if !strings.Contains(slot, "/@") { // the app may not read what it wrote to one person
				assert.Equal(t, 1, count, "%s stands", slot)
			}
		}
	})
}
