package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/jobs"
	"soundings/bot/journal"
)

// Every rule of deploy/alerts.yaml fires in a real Prometheus when its fault
// happens. Only their patience is shortened.
func TestAlertsFire(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("prometheus"); err != nil {
		t.Skip("no prometheus on this machine")
	}
	if testing.Short() {
		t.Skip("it waits for Prometheus to look a dozen times")
	}
	var broken atomic.Bool // whether the platform is slow and refuses forms
	served := startServing(t, false, func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if broken.Load() && strings.HasSuffix(r.URL.Path, "/views.open") {
				time.Sleep(1100 * time.Millisecond)
				_, _ = io.WriteString(w, `{"ok":false,"error":"internal_error"}`)
				return
			}
			next.ServeHTTP(w, r)
		})
	})
	// The other has its socket down, and nobody who does its jobs.
	url, stopRedis, err := journal.StartEmbedded()
	require.NoError(t, err)
	other := idleService(t, url)
	page := httptest.NewServer(other.handler())
	require.NoError(t, other.queue.Enqueue(t.Context(), jobs.Job{ID: "late", Kind: "wake", At: time.Now().Add(time.Hour)}))
	require.NoError(t, other.rdb.ZAdd(t.Context(), "asynq:{soundings}:scheduled", redis.Z{Member: "late", Score: float64(time.Now().Add(-time.Hour).Unix())}).Err())

	p := startPrometheus(t, served.service.address(), page.Listener.Addr().String())
	p.await(t, "SoundingsSocketDown", "SoundingsWorkLate")
	stopRedis()
	p.await(t, "SoundingsRedisTakesNoWrites")

	giveUp(t, served.service, "one")
	p.looks(t, 2)
	giveUp(t, served.service, "two")
	wrongSignatures(t, served.service.address(), 30)
	broken.Store(true)
	for range 30 { // not all at once: a rate needs two looks
		time.Sleep(100 * time.Millisecond)
		go func() {
			_ = served.workspace.Client.Command(context.Background(), served.lead, served.channel, "/soundings", "start")
		}()
	}
	p.await(t, "SoundingsJobsGivenUp", "SoundingsWrongSignatures", "SoundingsRequestsFail", "SoundingsAnswersLate", "SoundingsPlatformRefuses")
	page.Close()
	served.stop()
	p.await(t, "SoundingsAway")
}

// idleService is a service in Socket Mode that was built and not started.
func idleService(t *testing.T, redis string) *service {
	t.Helper()
	platform := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, `{"ok":true}`) }))
	t.Cleanup(platform.Close)
	s := goodSettings(t, changed(socketEnviron(), "SLACK_API_URL="+platform.URL+"/api", "SOUNDINGS_REDIS_URL="+redis))
	rdb, err := openRedis(t.Context(), "SOUNDINGS_REDIS_URL", redis)
	require.NoError(t, err)
	t.Cleanup(func() { _ = rdb.Close() })
	p, err := newService(t.Context(), s, rdb, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	return p
}

// giveUp has a service give up a job: one that it cannot read.
func giveUp(t *testing.T, p *service, id string) {
	t.Helper()
	require.NoError(t, p.queue.Enqueue(t.Context(), jobs.Job{ID: id, Kind: "wake", Payload: []byte("no JSON")}))
}

func wrongSignatures(t *testing.T, address string, n int) {
	t.Helper()
	for range n {
		request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "http://"+address+"/slack/commands", strings.NewReader("text=start"))
		require.NoError(t, err)
		request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		request.Header.Set("X-Slack-Request-Timestamp", fmt.Sprint(time.Now().Unix()))
		request.Header.Set("X-Slack-Signature", "v0=00")
		answer, err := http.DefaultClient.Do(request)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
	}
}

// A watcher is a Prometheus that looks every second.
type watcher struct{ url string }

func startPrometheus(t *testing.T, targets ...string) watcher {
	t.Helper()
	dir := t.TempDir()
	rules := string(read(t, "deploy/alerts.yaml"))
	rules = regexp.MustCompile(`(?m)^ +for: .*\n`).ReplaceAllString(rules, "")
	rules = regexp.MustCompile(`\[\d+[mh]\]`).ReplaceAllString(rules, "[40s]")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "rules.yaml"), []byte(rules), 0o600))
	config := fmt.Sprintf("global: {scrape_interval: 1s, evaluation_interval: 1s}\nrule_files: [rules.yaml]\nscrape_configs: [{job_name: soundings, static_configs: [{targets: ['%s']}]}]\n",
		strings.Join(targets, "', '"))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "prometheus.yml"), []byte(config), 0o600))
	address := freeAddress(t)
	cmd := exec.Command("prometheus", "--config.file="+filepath.Join(dir, "prometheus.yml"), "--storage.tsdb.path="+filepath.Join(dir, "data"), "--web.listen-address="+address)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM)
		_ = cmd.Wait() // it was told to end
	})
	return watcher{"http://" + address}
}

// await waits until all of these alerts fire.
func (p watcher) await(t *testing.T, alerts ...string) {
	t.Helper()
	fired := map[string]bool{}
	ok := assert.Eventually(t, func() bool {
		for _, name := range p.firing() {
			fired[name] = true
		}
		for _, name := range alerts {
			if !fired[name] {
				return false
			}
		}
		return true
	}, time.Minute, 500*time.Millisecond)
	require.True(t, ok, "of %v there came %v", alerts, slices.Sorted(maps.Keys(fired)))
}

// looks waits until it has looked some more times.
func (p watcher) looks(t *testing.T, n int) {
	t.Helper()
	time.Sleep(time.Duration(n) * time.Second)
}

func (p watcher) firing() (names []string) {
	answer, err := http.Get(p.url + "/api/v1/alerts")
	if err != nil {
		return nil // it is starting
	}
	defer answer.Body.Close()
	var said struct {
		Data struct {
			Alerts []struct {
				State  string
				Labels map[string]string
			}
		}
	}
	if json.NewDecoder(answer.Body).Decode(&said) != nil {
		return nil
	}
	for _, a := range said.Data.Alerts {
		if a.State == "firing" {
			names = append(names, a.Labels["alertname"])
		}
	}
	return names
}

// Where Prometheus is found, it reads the rules.
func TestAlertRulesAreRead(t *testing.T) {
	t.Parallel()
	promtool, err := exec.LookPath("promtool")
	if err != nil {
		t.Skip("no promtool on this machine")
	}
	out, err := exec.CommandContext(t.Context(), promtool, "check", "rules", "deploy/alerts.yaml").CombinedOutput()
	assert.NoError(t, err, string(out))
}
