package main

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// unwritable are servers that answer and take no writes, each in its own way.
func unwritable(t *testing.T) map[string]redis.UniversalClient {
	full := storetest.Client(t, storetest.Server(t))
	require.NoError(t, full.ConfigSet(t.Context(), "maxmemory", "1").Err())

	replica := storetest.Client(t, storetest.Server(t))
	require.NoError(t, replica.Do(t.Context(), "REPLICAOF", "127.0.0.1", "1").Err()) // whether its primary answers does not matter

	address := storetest.Server(t)
	require.NoError(t, storetest.Client(t, address).Do(t.Context(), "ACL", "SETUSER", "reader", "on", ">made-up", "~*", "+@all", "-@write").Err())
	u, err := url.Parse(address)
	require.NoError(t, err)
	u.User = url.UserPassword("reader", "made-up")
	return map[string]redis.UniversalClient{"full": full, "read-only": replica, "lacks a right": storetest.Client(t, u.String())}
}

// Each is told apart, in one sentence with the mend, and none of them is ready.
func TestRedisThatTakesNoWrites(t *testing.T) {
	t.Parallel()
	mends := map[string]string{"full": "maxmemory", "read-only": "primary", "lacks a right": "ACL SETUSER"}
	for why, rdb := range unwritable(t) {
		var all findings
		all.examineAppend(t.Context(), rdb)
		assert.Equal(t, toMend, all[0].Verdict, why)
		assert.Contains(t, all[0].Text, why)
		assert.Contains(t, all[0].Text, mends[why])

		p := &service{rdb: rdb, journal: journal.New(rdb, journal.Options{})}
		// A busy machine may not answer within the second that a probe waits.
		assert.EventuallyWithT(t, func(c *assert.CollectT) {
			w := httptest.NewRecorder()
			p.ready(w, httptest.NewRequest(http.MethodGet, "/readyz", nil))
			assert.Equal(c, http.StatusServiceUnavailable, w.Code, why)
			assert.Contains(c, w.Body.String(), why)
		}, time.Minute, 10*time.Millisecond)
	}
}

// At its start serve tells of what Redis does not promise, and does not start
// where kickoffs could be thrown away.
func TestServeLooksAtRedis(t *testing.T) {
	t.Parallel()
	address := storetest.Server(t)
	rdb := storetest.Client(t, address)
	look := func(s settings, configuration ...string) (string, error) {
		for i := 0; i < len(configuration); i += 2 {
			configure(t, address, configuration[i], configuration[i+1])
		}
		var log bytes.Buffer
		p := &service{settings: s, rdb: rdb, log: slog.New(slog.NewJSONHandler(&log, nil))}
		err := p.examineStore(t.Context())
		return log.String(), err
	}
	log, err := look(settings{})
	require.NoError(t, err)
	assert.Contains(t, log, `"level":"WARN","msg":"redis persistence: it keeps nothing on disk`)
	assert.Equal(t, 1, strings.Count(log, "\n"), log)

	log, err = look(settings{}, "appendonly", "yes")
	require.NoError(t, err)
	assert.Empty(t, log)

	log, err = look(settings{}, "maxmemory-policy", "volatile-lru")
	require.NoError(t, err)
	assert.Contains(t, log, "redis eviction: maxmemory-policy is volatile-lru")

	_, err = look(settings{}, "maxmemory-policy", "allkeys-lru")
	require.ErrorContains(t, err, "allkeys-lru, which throws kickoffs away")
	require.ErrorContains(t, err, "SOUNDINGS_ALLOW_EVICTION=yes")

	log, err = look(settings{AllowEviction: "yes"})
	require.NoError(t, err)
	assert.Contains(t, log, "redis eviction: maxmemory-policy is allkeys-lru, which throws kickoffs away")
}

// Where CONFIG is forbidden, as hosted ones do, INFO must do, and what it does
// not tell is said not to be known.
func TestStoreWithoutConfig(t *testing.T) {
	t.Parallel()
	address := storetest.Server(t)
	admin := storetest.Client(t, address)
	require.NoError(t, admin.Do(t.Context(), "ACL", "SETUSER", "hosted", "on", ">made-up", "~*", "+@all", "-config").Err())
	u, err := url.Parse(address)
	require.NoError(t, err)
	u.User = url.UserPassword("hosted", "made-up")
	look := func() (all findings) {
		state, err := askStore(t.Context(), storetest.Client(t, u.String()))
		require.NoError(t, err)
		state.examinePersistence(&all)
		state.examineEviction(&all)
		return all
	}
	all := look()
	assert.Contains(t, all[0].Text, "does not say whether it writes snapshots")
	assert.Equal(t, isGood, all[1].Verdict, "%+v", all[1])
	require.NoError(t, admin.Save(t.Context()).Err())
	assert.Contains(t, look()[0].Text, "snapshots only")
	configure(t, address, "appendonly", "yes")
	configure(t, address, "maxmemory-policy", "allkeys-lfu")
	all = look()
	assert.Contains(t, all[0].Text, "does not say how often")
	assert.Contains(t, all[1].Text, "allkeys-lfu")
}

// A replicated Redis is named where nobody waits for its replicas, and so is
// one that has fewer than are waited for.
func TestCheckNamesReplicas(t *testing.T) {
	t.Parallel()
	primary := storetest.Server(t)
	look := func(url, wait string) findings {
		state, err := askStore(t.Context(), storetest.Client(t, url))
		require.NoError(t, err)
		var all findings
		state.examineReplicas(&all, settings{RedisURL: url, RedisWait: wait})
		return all
	}
	assert.Empty(t, look(primary, ""), "there are no replicas, and none are waited for")
	assert.Equal(t, toMend, look(primary, "1")[0].Verdict)
	sentinel := storetest.Watched(t, primary)
	assert.Contains(t, look(sentinel, "")[0].Text, "SOUNDINGS_REDIS_WAIT=1")
	assert.Contains(t, look(storetest.Cluster(t), "")[0].Text, "SOUNDINGS_REDIS_WAIT=1")
	storetest.Replica(t, primary)
	assert.Contains(t, look(primary, "")[0].Text, "SOUNDINGS_REDIS_WAIT=1")
	assert.Equal(t, isNote, look(primary, "0")[0].Verdict)
	assert.Equal(t, isGood, look(primary, "1")[0].Verdict)
	assert.Contains(t, look(primary, "2")[0].Text, "asks for 2 and 1 are connected")
}
