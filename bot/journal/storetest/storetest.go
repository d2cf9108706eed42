// Package storetest starts the stores that tests run against: the embedded
// one always, and a real redis-server of its own where the program is found on
// PATH. With SOUNDINGS_REQUIRE_REDIS=1 its absence is a failure, so that a
// build that means to test against Redis cannot pass without it.
//
// [Each] is the usual way in; [EachURL] serves tests of programs that connect
// by themselves; [Cluster] and [Sentinel] start servers of those kinds. Every
// store is empty, listens on the loopback interface, writes nothing that
// outlives the test, and is stopped by t.Cleanup.
package storetest

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal"
)

// Main is for TestMain of packages whose tests wait for servers, browsers and
// timers most of their time: more of them run at once than there are cores.
func Main(m *testing.M) {
	flag.Parse()
	if err := flag.Set("test.parallel", "8"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// Each runs fn as a subtest on every store there is, with a client of an
// empty store. The log says which store it is.
func Each(t *testing.T, fn func(t *testing.T, name string, rdb redis.UniversalClient)) {
	t.Helper()
	EachURL(t, func(t *testing.T, name, url string) {
		fn(t, name, Client(t, url))
	})
}

// EachURL runs fn as a subtest on every store there is, with the URL of an
// empty store, in a form that journal.Open takes.
func EachURL(t *testing.T, fn func(t *testing.T, name, url string)) {
	t.Helper()
	t.Run("embedded", func(t *testing.T) {
		url := Embedded(t)
		tell(t, "store: embedded")
		fn(t, "embedded", url)
	})
	t.Run("redis", func(t *testing.T) {
		url := Server(t)
		tell(t, "store: "+Version(t))
		fn(t, "redis", url)
	})
}

// told holds what this process has printed already. It changes nothing but
// what is printed.
var told sync.Map

// tell logs a line, and prints it once in a process: the log of a test that
// passes is shown with -v only.
func tell(t testing.TB, line string) {
	t.Helper()
	t.Log(line)
	if _, again := told.LoadOrStore(line, true); !again {
		fmt.Println(line)
	}
}

// Embedded starts the embedded store and returns its URL.
func Embedded(t testing.TB) string {
	t.Helper()
	url, stop, err := journal.StartEmbedded()
	require.NoError(t, err)
	t.Cleanup(stop)
	return url
}

// Client connects to a store by its URL.
func Client(t testing.TB, url string) redis.UniversalClient {
	t.Helper()
	rdb, err := journal.Open(t.Context(), "the store under test", url)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, rdb.Close(), "close the client") })
	return rdb
}

// Cluster starts a Redis Cluster of one node, which holds every slot, and
// returns its URL. One node is enough to have the server refuse what reaches
// over several slots. It skips the test where there is no redis-server.
func Cluster(t testing.TB) string {
	t.Helper()
	port := start(t, "Ready to accept connections", "cluster-enabled yes", "cluster-config-file nodes.conf")
	addr := fmt.Sprintf("127.0.0.1:%d", port)
	node := redis.NewClient(&redis.Options{Addr: addr})
	defer node.Close()
	require.NoError(t, node.ClusterAddSlotsRange(t.Context(), 0, 16383).Err(), "give the cluster its slots")
	require.Eventually(t, func() bool { // it does not say by itself when it is ready
		info, err := node.ClusterInfo(t.Context()).Result()
		return err == nil && strings.Contains(info, "cluster_state:ok")
	}, startWithin, 20*time.Millisecond, "the cluster is not ready")
	tell(t, "store: "+Version(t)+" as a cluster")
	return "redis+cluster://" + addr
}

// Sentinel starts a redis-server and a sentinel that knows it as "harbour",
// and returns their URL. It skips the test where there is no redis-server.
func Sentinel(t testing.TB) string {
	t.Helper()
	master := start(t, "Ready to accept connections")
	port := start(t, "+monitor master harbour", fmt.Sprintf("sentinel monitor harbour 127.0.0.1 %d 1", master))
	tell(t, "store: "+Version(t)+" behind a sentinel")
	return fmt.Sprintf("redis+sentinel://127.0.0.1:%d/harbour/0", port)
}
