package metrics

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	dto "github.com/prometheus/client_model/go"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/prompts"
)

// everything is a registry in which each metric has a sample.
func everything(t *testing.T) *prometheus.Registry {
	t.Helper()
	r := prometheus.NewRegistry()
	m := New(r)
	m.Request("command", Good, time.Second)
	m.Refuse("unsigned")
	m.Job("wake", Failed)
	m.GivenUp("wake")
	m.Drafted("ladder", prompts.Usage{Calls: 1}, nil)
	m.calls.WithLabelValues("chat.update", "200", "not_in_channel").Inc()
	up := true
	Look(r, func(context.Context) (State, error) {
		return State{RedisUp: true, SocketUp: &up, Kickoffs: map[string]int{"rating": 2}, Jobs: map[string]int{"due": 1}, OldestOverdue: time.Second}, nil
	})
	return r
}

// Names and units follow the conventions of Prometheus, as its own linter
// knows them.
func TestNamesFollowTheConventions(t *testing.T) {
	families, err := everything(t).Gather()
	require.NoError(t, err)
	assert.Len(t, families, 14)
	problems, err := promlint.NewWithMetricFamilies(families).Lint()
	require.NoError(t, err)
	assert.Empty(t, problems)
	for _, family := range families {
		assert.True(t, strings.HasPrefix(family.GetName(), "soundings_"), family.GetName())
	}
}

// A call that the platform refuses has status 200 all the same.
func TestACallIsCountedByWhatThePlatformSays(t *testing.T) {
	for _, tt := range []struct {
		says   string
		status int
		want   string
	}{
		{`{"ok":true,"error":"no_such_thing"}`, 200, `chat.update 200 ""`},
		{`{"ok":false,"error":"not_in_channel","more":"` + strings.Repeat("x", 4096) + `"}`, 200, `chat.update 200 "not_in_channel"`},
		{"{ \"ok\": false, \"error\": \"ratelimited\" }", 429, `chat.update 429 "ratelimited"`},
		{`{"ok":false,"error":"What somebody typed <b>"}`, 200, `chat.update 200 ""`},
		{"<html>", 502, `chat.update 502 ""`},
	} {
		server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
			w.WriteHeader(tt.status)
			_, _ = io.WriteString(w, tt.says)
		}))
		t.Cleanup(server.Close)
		r := prometheus.NewRegistry()
		client := http.Client{Transport: New(r).Transport(http.DefaultTransport)}
		answer, err := client.Get(server.URL + "/api/chat.update")
		require.NoError(t, err)
		body, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		assert.Equal(t, tt.says, string(body), "the answer was changed")
		assert.Equal(t, []string{tt.want}, callsIn(t, r))
	}
}

func callsIn(t *testing.T, r *prometheus.Registry) []string {
	t.Helper()
	families, err := r.Gather()
	require.NoError(t, err)
	var calls []string
	for _, family := range families {
		if family.GetName() != "soundings_web_api_calls_total" {
			continue
		}
		for _, m := range family.GetMetric() {
			calls = append(calls, label(m, "method")+" "+label(m, "status")+` "`+label(m, "error")+`"`)
		}
	}
	return calls
}

func label(m *dto.Metric, name string) string {
	for _, pair := range m.GetLabel() {
		if pair.GetName() == name {
			return pair.GetValue()
		}
	}
	return "none"
}

// With Redis away the metrics still come, and say so.
func TestMetricsSayThatRedisIsAway(t *testing.T) {
	r := prometheus.NewRegistry()
	Look(r, func(context.Context) (State, error) { return State{}, errors.New("it is away") })
	families, err := r.Gather()
	require.NoError(t, err)
	require.Len(t, families, 1)
	assert.Equal(t, "soundings_redis_writable", families[0].GetName())
	assert.Zero(t, families[0].GetMetric()[0].GetGauge().GetValue())
}

// The rules for alerts and the dashboard ask for nothing that there is not.
func TestWhatIsWatchedIsCounted(t *testing.T) {
	families, err := everything(t).Gather()
	require.NoError(t, err)
	there := map[string]bool{"soundings_build_info": true, "soundings_request_seconds_bucket": true}
	for _, family := range families {
		there[family.GetName()] = true
	}
	for _, name := range []string{"alerts.yaml", "dashboard.json"} {
		text, err := os.ReadFile("../../deploy/" + name)
		require.NoError(t, err)
		asked := regexp.MustCompile(`soundings_[a-z_]+`).FindAllString(string(text), -1)
		assert.Greater(t, len(asked), 8, name)
		for _, metric := range asked {
			assert.True(t, there[metric], "%s asks for %s", name, metric)
		}
	}
}
