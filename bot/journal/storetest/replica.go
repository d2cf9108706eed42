package storetest

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Replica starts a redis-server that copies the one at primary, waits until it
// does, and returns its URL. It skips the test where there is none.
func Replica(t testing.TB, primary string) string {
	t.Helper()
	u, err := url.Parse(primary)
	require.NoError(t, err)
	require.NoError(t, Client(t, primary).ConfigSet(t.Context(), "repl-diskless-sync-delay", "0").Err())
	port := start(t, "Ready to accept connections", "replicaof 127.0.0.1 "+u.Port())
	replica := fmt.Sprintf("redis://127.0.0.1:%d/0", port)
	// Both must know of it: WAIT counts a replica once the primary has heard that
	// it holds the first copy, up to a second after the replica itself is ready.
	for url, says := range map[string]string{replica: "master_link_status:up", primary: "state=online"} {
		rdb := Client(t, url)
		require.Eventually(t, func() bool {
			info, err := rdb.Info(t.Context(), "replication").Result()
			return err == nil && strings.Contains(info, says)
		}, startWithin, 10*time.Millisecond, "the replica does not copy: %s", says)
	}
	return replica
}

// Watched starts a sentinel that has the replica of a server promoted soon
// after the server has gone, and returns the URL at which whichever of them
// takes writes is found.
func Watched(t testing.TB, primary string) string {
	t.Helper()
	u, err := url.Parse(primary)
	require.NoError(t, err)
	port := start(t, "+monitor master harbour", fmt.Sprintf("sentinel monitor harbour 127.0.0.1 %s 1", u.Port()),
		"sentinel down-after-milliseconds harbour 300", "sentinel failover-timeout harbour 2000")
	return fmt.Sprintf("redis+sentinel://127.0.0.1:%d/harbour/0", port)
}
