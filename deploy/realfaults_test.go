//go:build realfaults

package deploy_test

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/journal"
)

// What may be lost and doubled when processes and servers really die, on this
// machine's loopback interface:
//
//	go test -tags realfaults -run TestRealFaults -v -timeout 2h ./deploy -rounds 200
//
// It needs redis-server. It ends only processes that it has started.
var (
	rounds  = flag.Int("rounds", 20, "how many rounds of kill -9")
	rest    = flag.Duration("rest", 1500*time.Millisecond, "how long a round lasts")
	freezes = flag.Int("freezes", 1, "how often Redis is frozen for 30 s")
	others  = flag.Int("failovers", 3, "how often the master of a Sentinel, and of a Cluster, is killed")
)

const faultSecret = "0123456789abcdef0123456789abcdef"

// A child is a process of ours.
type child struct {
	name string
	args []string
	env  []string
	dir  string

	cmd *exec.Cmd
}

func (c *child) start(t *testing.T) {
	t.Helper()
	c.cmd = exec.Command(c.args[0], c.args[1:]...)
	c.cmd.Dir, c.cmd.Env = c.dir, append(os.Environ(), c.env...)
	log, err := os.OpenFile(filepath.Join(c.dir, c.name+".log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	require.NoError(t, err)
	defer log.Close()
	c.cmd.Stdout, c.cmd.Stderr = log, log
	require.NoError(t, c.cmd.Start())
	cmd := c.cmd
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		if said, err := os.ReadFile(log.Name()); err == nil && t.Failed() && strings.HasPrefix(c.name, "bot") {
			t.Logf("%s said last:\n%s", c.name, said[max(0, len(said)-4000):])
		}
	})
}

// kill is kill -9.
func (c *child) kill() {
	_ = c.cmd.Process.Signal(syscall.SIGKILL)
	_ = c.cmd.Wait()
}

// A site is a platform, some bots and a Redis, and what people have sent.
type site struct {
	t    *testing.T
	dir  string
	team *fakeslack.Team
	bots []*child
	urls []string
	rdb  redis.UniversalClient

	lead, channel, kickoff string

	mu    sync.Mutex
	sent  int
	acked map[string]bool // deliveries
	worst time.Duration   // that somebody waited for an answer
}

func freePort(t *testing.T) int {
	t.Helper()
	for {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		port := l.Addr().(*net.TCPAddr).Port
		_ = l.Close()
		if port < 50_000 { // a cluster opens another one 10,000 above
			return port
		}
	}
}

// startSite builds the program, and starts a kickoff with two bots.
func startSite(t *testing.T, redisURL string) *site {
	t.Helper()
	s := &site{t: t, dir: t.TempDir(), acked: map[string]bool{}}
	program := filepath.Join(s.dir, "soundings")
	out, err := exec.CommandContext(t.Context(), "go", "build", "-o", program, "../cmd/soundings").CombinedOutput()
	require.NoError(t, err, string(out))
	s.team = fakeslack.NewTeam(fakeslack.Config{SigningSecret: faultSecret})
	t.Cleanup(s.team.Close)
	platform := httptest.NewServer(s.team.Handler())
	t.Cleanup(platform.Close)
	s.team.SetURL(platform.URL)
	for i := range 2 {
		listen := fmt.Sprintf("127.0.0.1:%d", freePort(t))
		b := &child{name: fmt.Sprint("bot", i), args: []string{program, "serve"}, dir: s.dir, env: []string{"SLACK_BOT_TOKEN=xoxb-none", "SLACK_SIGNING_SECRET=" + faultSecret,
			"SOUNDINGS_LISTEN=" + listen, "SLACK_API_URL=" + platform.URL + "/api", "SOUNDINGS_REDIS_URL=" + redisURL}}
		s.bots, s.urls = append(s.bots, b), append(s.urls, "http://"+listen)
		b.start(t)
	}
	front, _ := url.Parse(s.urls[0])
	proxy := httptest.NewServer(httputil.NewSingleHostReverseProxy(front))
	t.Cleanup(proxy.Close)
	s.team.SetBotURL(proxy.URL)
	s.rdb, err = journal.Open(t.Context(), "the test", redisURL)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.rdb.Close() })
	s.ready()
	s.begin()
	return s
}

// ready waits until every bot says that it is.
func (s *site) ready() {
	s.t.Helper()
	for i := range s.urls {
		require.Eventually(s.t, func() bool {
			answer, err := http.Get(s.urls[i] + "/readyz")
			if err == nil {
				_ = answer.Body.Close()
			}
			return err == nil && answer.StatusCode == http.StatusOK
		}, time.Minute, 50*time.Millisecond, "bot %d is not ready: see %s", i, s.dir)
	}
}

func (s *site) begin() {
	s.t.Helper()
	ctx := s.t.Context()
	s.lead = s.team.AddUser(fakeslack.User{Name: "ana", RealName: "Ana", Zone: "Europe/Lisbon"})
	bo := s.team.AddUser(fakeslack.User{Name: "bo", RealName: "Bo", Zone: "Europe/Lisbon"})
	s.channel = s.team.AddChannel(fakeslack.Channel{Name: "ferry", Members: []string{s.team.BotUser(), s.lead, bo}})
	require.NoError(s.t, s.team.Client.Command(ctx, s.lead, s.channel, "/soundings", "start"))
	v, open := s.team.Client.TopView(s.lead)
	require.True(s.t, open)
	for block, value := range map[string]blockkit.Value{"title": {Text: "Bicycles"}, "problem": {Text: "Nobody knows whether there is room."}, "people": {IDs: []string{bo}}} {
		require.NoError(s.t, s.team.Client.Type(s.lead, v.ID, block, "in", value))
	}
	faults, err := s.team.Client.Submit(ctx, s.lead, v.ID)
	require.NoError(s.t, err)
	require.Empty(s.t, faults)
	keys, err := journal.New(s.rdb, journal.Options{}).Index.All(ctx, s.team.TeamID())
	require.NoError(s.t, err)
	require.Len(s.t, keys, 1)
	s.kickoff = keys[0].Kickoff
}

// load has people press a button, each press sent again until it is
// acknowledged, as the platform's user would, until ctx ends.
func (s *site) load(ctx context.Context) (wait func()) {
	var all sync.WaitGroup
	client := &http.Client{Timeout: 5 * time.Second}
	for worker := range 8 {
		all.Go(func() {
			for n := 0; ctx.Err() == nil; n++ {
				s.press(ctx, client, fmt.Sprintf("%d.%d.%d", time.Now().UnixNano(), worker, n))
			}
		})
	}
	return all.Wait
}

func (s *site) press(ctx context.Context, client *http.Client, trigger string) {
	value, _ := json.Marshal(map[string]string{"k": s.kickoff})
	payload, _ := json.Marshal(map[string]any{"type": "block_actions", "trigger_id": trigger, "team": map[string]string{"id": s.team.TeamID()},
		"user": map[string]string{"id": s.lead}, "actions": []any{map[string]string{"action_id": "do/me.mute", "value": string(value), "type": "button", "block_id": "b"}}})
	body := url.Values{"payload": {string(payload)}}.Encode()
	s.mu.Lock()
	s.sent++
	s.mu.Unlock()
	for range 200 {
		began := time.Now()
		status := s.post(client, s.urls[rand.IntN(len(s.urls))], body)
		s.mu.Lock()
		s.worst = max(s.worst, time.Since(began))
		if status == http.StatusOK {
			s.acked["click/"+trigger] = true
		}
		s.mu.Unlock()
		if status == http.StatusOK || ctx.Err() != nil {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
}

func (s *site) post(client *http.Client, base, body string) int {
	r, err := http.NewRequest(http.MethodPost, base+"/slack/interactions", strings.NewReader(body))
	if err != nil {
		return 0
	}
	stamp := strconv.FormatInt(time.Now().Unix(), 10)
	mac := hmac.New(sha256.New, []byte(faultSecret))
	mac.Write([]byte("v0:" + stamp + ":" + body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("X-Slack-Request-Timestamp", stamp)
	r.Header.Set("X-Slack-Signature", "v0="+hex.EncodeToString(mac.Sum(nil)))
	answer, err := client.Do(r)
	if err != nil {
		return 0
	}
	_, _ = io.Copy(io.Discard, answer.Body)
	_ = answer.Body.Close()
	return answer.StatusCode
}

// figures compares what was acknowledged with what is in the journal, and
// counts the messages that stand twice in the channel.
func (s *site) figures(what string) (lost, doubled int) {
	s.t.Helper()
	entries, err := journal.New(s.rdb, journal.Options{}).Read(s.t.Context(), journal.Key{Team: s.team.TeamID(), Kickoff: s.kickoff}, journal.Position{})
	require.NoError(s.t, err)
	times := map[string]int{}
	for _, e := range entries {
		if e.Delivery != "" {
			if times[e.Delivery]++; times[e.Delivery] == 2 {
				doubled++
			}
		}
	}
	for delivery := range s.acked {
		if times[delivery] == 0 {
			lost++
		}
	}
	slots := map[string]int{}
	for _, m := range s.team.Messages(s.channel) {
		if m.Metadata != nil {
			if slot, _ := m.Metadata.EventPayload["slot"].(string); slot != "" {
				if slots[slot]++; slots[slot] == 2 {
					doubled++
				}
			}
		}
	}
	s.t.Logf("%s: %d pressed, %d acknowledged, %d lost, %d doubled; longest answer %v", what, s.sent, len(s.acked), lost, doubled, s.worst.Round(time.Millisecond))
	return lost, doubled
}

// redisAt describes a server on a port, with its data in a folder of its own.
func redisAt(t *testing.T, port int, settings ...string) *child {
	t.Helper()
	dir := t.TempDir()
	config := append([]string{"bind 127.0.0.1", fmt.Sprintf("port %d", port), `save ""`, "appendonly yes", "appendfsync always", "repl-diskless-sync-delay 0"}, settings...)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "redis.conf"), []byte(strings.Join(config, "\n")+"\n"), 0o600))
	args := []string{"redis-server", "redis.conf"}
	if slices.ContainsFunc(settings, func(s string) bool { return strings.HasPrefix(s, "sentinel ") }) {
		args = append(args, "--sentinel")
	}
	return &child{name: "redis", args: args, dir: dir}
}

func answers(t *testing.T, port int) {
	t.Helper()
	rdb := redis.NewClient(&redis.Options{Addr: fmt.Sprintf("127.0.0.1:%d", port)})
	defer rdb.Close()
	require.Eventually(t, func() bool { return rdb.Ping(t.Context()).Err() == nil }, 20*time.Second, 20*time.Millisecond, "redis on port %d", port)
}

func TestRealFaults(t *testing.T) {
	if _, err := exec.LookPath("redis-server"); err != nil {
		t.Skip("redis-server is not on PATH")
	}
	t.Run("kill -9", killedAndFrozen)
	t.Run("sentinel", sentinelFailover)
	t.Run("cluster", clusterFailover)
}

// killedAndFrozen kills a bot or the server in each round, under load, and then
// freezes the server. It has each command on disk before it answers: nothing
// may be lost.
func killedAndFrozen(t *testing.T) {
	port := freePort(t)
	server := redisAt(t, port)
	server.start(t)
	answers(t, port)
	s := startSite(t, fmt.Sprintf("redis://127.0.0.1:%d/0", port))
	ctx, stop := context.WithCancel(t.Context())
	wait := s.load(ctx)
	killed := map[string]int{}
	for range *rounds {
		time.Sleep(time.Duration(rand.Int64N(int64(*rest)/2)) + *rest/2)
		victim := []*child{s.bots[0], s.bots[1], server}[rand.IntN(3)]
		victim.kill()
		killed[victim.name]++
		time.Sleep(time.Duration(rand.IntN(200)) * time.Millisecond)
		victim.start(t)
		answers(t, port)
		s.ready()
	}
	stop()
	wait()
	t.Logf("killed: %v", killed)
	lost, doubled := s.figures(fmt.Sprintf("%d rounds of kill -9", *rounds))

	s.worst = 0
	for range *freezes {
		ctx, stop := context.WithCancel(t.Context())
		wait := s.load(ctx)
		time.Sleep(time.Second)
		_ = server.cmd.Process.Signal(syscall.SIGSTOP)
		time.Sleep(30 * time.Second)
		_ = server.cmd.Process.Signal(syscall.SIGCONT)
		s.ready()
		time.Sleep(time.Second)
		stop()
		wait()
	}
	lostFrozen, doubledFrozen := s.figures("Redis frozen for 30 s")
	require.Zero(t, lost+lostFrozen, "lost")
	require.Zero(t, doubled+doubledFrozen, "doubled")
}

// sentinelFailover kills the master under three sentinels. Replication does
// not wait: what was written last may be lost, and is counted; nothing is doubled.
func sentinelFailover(t *testing.T) {
	ports := []int{freePort(t), freePort(t)}
	servers := []*child{redisAt(t, ports[0]), redisAt(t, ports[1], fmt.Sprintf("replicaof 127.0.0.1 %d", ports[0]))}
	for i, server := range servers {
		server.start(t)
		answers(t, ports[i])
	}
	var addresses []string
	for range 3 {
		port := freePort(t)
		redisAt(t, port, fmt.Sprintf("sentinel monitor harbour 127.0.0.1 %d 2", ports[0]), "sentinel down-after-milliseconds harbour 1000",
			"sentinel failover-timeout harbour 5000").start(t)
		answers(t, port)
		addresses = append(addresses, fmt.Sprintf("127.0.0.1:%d", port))
	}
	time.Sleep(3 * time.Second) // until the sentinels know each other and the replica
	s := startSite(t, "redis+sentinel://"+strings.Join(addresses, ",")+"/harbour/0")
	master := func() int {
		c := redis.NewSentinelClient(&redis.Options{Addr: addresses[0]})
		defer c.Close()
		at, err := c.GetMasterAddrByName(t.Context(), "harbour").Result()
		if err != nil || len(at) < 2 {
			return -1
		}
		port, _ := strconv.Atoi(at[1])
		return slices.Index(ports, port)
	}
	s.failovers("Sentinel failovers", func() (back func()) {
		now := master()
		servers[now].kill()
		require.Eventually(t, func() bool { next := master(); return next >= 0 && next != now }, time.Minute, 100*time.Millisecond, "no failover")
		return func() { servers[now].start(t); answers(t, ports[now]) }
	})
}

// clusterFailover kills the master that holds the kickoff, of a cluster of six.
func clusterFailover(t *testing.T) {
	var servers []*child
	var addresses []string
	var ports []int
	for range 6 {
		port := freePort(t)
		server := redisAt(t, port, "cluster-enabled yes", "cluster-config-file nodes.conf", "cluster-node-timeout 1000")
		server.start(t)
		answers(t, port)
		servers, addresses, ports = append(servers, server), append(addresses, fmt.Sprintf("127.0.0.1:%d", port)), append(ports, port)
	}
	out, err := exec.CommandContext(t.Context(), "redis-cli", append(append([]string{"--cluster", "create"}, addresses...), "--cluster-replicas", "1", "--cluster-yes")...).CombinedOutput()
	require.NoError(t, err, string(out))
	time.Sleep(3 * time.Second)
	s := startSite(t, "redis+cluster://"+strings.Join(addresses, ","))
	cluster := s.rdb.(*redis.ClusterClient)
	holder := func() int {
		node, err := cluster.MasterForKey(t.Context(), "snd:{"+s.team.TeamID()+"/"+s.kickoff+"}:entries")
		if err != nil {
			return -1
		}
		return slices.Index(addresses, node.Options().Addr)
	}
	s.failovers("a Cluster's master killed", func() (back func()) {
		now := holder()
		require.GreaterOrEqual(t, now, 0)
		servers[now].kill()
		require.Eventually(t, func() bool {
			cluster.ReloadState(t.Context())
			next := holder()
			return next >= 0 && next != now
		}, time.Minute, 200*time.Millisecond, "no failover")
		return func() { servers[now].start(t); answers(t, ports[now]) }
	})
}

// failovers kill a master under load, again and again, and then look whether
// both bots still take what people do.
func (s *site) failovers(what string, kill func() (back func())) {
	s.t.Helper()
	for range *others {
		ctx, stop := context.WithCancel(s.t.Context())
		wait := s.load(ctx)
		time.Sleep(2 * time.Second)
		back := kill()
		s.ready()
		began := time.Now()
		client := &http.Client{Timeout: 5 * time.Second}
		for _, base := range s.urls {
			require.Eventually(s.t, func() bool { return s.probe(client, base) }, 10*time.Second, 100*time.Millisecond, "a bot is stuck")
		}
		s.t.Logf("%s: both bots take answers %v after they are ready", what, time.Since(began).Round(time.Millisecond))
		time.Sleep(time.Second)
		stop()
		wait()
		back()
		time.Sleep(15 * time.Second) // until it follows the new master, and has all of it
	}
	_, doubled := s.figures(fmt.Sprintf("%d times: %s", *others, what))
	require.Zero(s.t, doubled, "doubled")
}

// probe presses a button at one bot.
func (s *site) probe(client *http.Client, base string) bool {
	answer, err := client.Get(base + "/healthz")
	if err != nil {
		return false
	}
	_ = answer.Body.Close()
	one := &site{t: s.t, team: s.team, urls: []string{base}, lead: s.lead, kickoff: s.kickoff, acked: map[string]bool{}}
	ctx, cancel := context.WithCancel(s.t.Context())
	cancel() // once
	one.press(ctx, client, fmt.Sprintf("%d.9.0", time.Now().UnixNano()))
	return len(one.acked) == 1
}
