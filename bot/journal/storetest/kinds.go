package storetest

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
)

// Cluster starts a Redis Cluster of one node, which holds every slot, and
// returns its URL. One node is enough to have the server refuse what reaches
// over several slots. It skips the test where there is no redis-server.
func Cluster(t testing.TB) string {
	t.Helper()
	port := start(t, "Ready to accept connections", "cluster-enabled yes", "cluster-config-file nodes.conf")
	addr := fmt.Sprintf("127.0.0.1:%d", port)
	node := redis.NewClient(&redis.Options{Addr: addr})
	defer node.Close()
	if err := node.ClusterAddSlotsRange(t.Context(), 0, 16383).Err(); err != nil {
		t.Fatalf("give the cluster its slots: %v", err)
	}
	await(t, "the cluster", func(ctx context.Context) bool {
		info, err := node.ClusterInfo(ctx).Result()
		return err == nil && strings.Contains(info, "cluster_state:ok")
	})
	tell(t, "store: "+Version(t)+" as a cluster")
	return "redis+cluster://" + addr
}

// Sentinel starts a redis-server and a sentinel that knows it as "harbour",
// and returns their URL. It skips the test where there is no redis-server.
func Sentinel(t testing.TB) string {
	t.Helper()
	master := start(t, "Ready to accept connections")
	port := start(t, "+monitor master harbour", "--sentinel",
		fmt.Sprintf("sentinel monitor harbour 127.0.0.1 %d 1", master))
	tell(t, "store: "+Version(t)+" behind a sentinel")
	return fmt.Sprintf("redis+sentinel://127.0.0.1:%d/harbour/0", port)
}

// await asks until the answer is yes. A server says nothing by itself about
// the state that its tests need.
func await(t testing.TB, what string, ready func(context.Context) bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), startWithin)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !ready(ctx) {
		select {
		case <-ctx.Done():
			t.Fatalf("%s was not ready within %v", what, startWithin)
		case <-tick.C:
		}
	}
}
