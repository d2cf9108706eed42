package bot_test

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

const testSecret = "of no use elsewhere"

var noon = time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)

// aBot is a bot whose platform answers nothing and counts what it is asked.
func aBot(t *testing.T) (handler http.Handler, asked *int) {
	t.Helper()
	asked = new(int)
	platform := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		*asked++
		http.Error(w, "nobody should ask", http.StatusTeapot)
	}))
	t.Cleanup(platform.Close)
	b, err := bot.New(bot.Config{
		Journal: journal.New(storetest.Client(t, storetest.Embedded(t)), journal.Options{}),
		Queue:   jobs.NewVirtual(noon), Chat: chat.New("xoxb-test", platform.URL+"/api/", nil),
		Clock: func() time.Time { return noon }, Secret: testSecret,
	})
	require.NoError(t, err)
	return b.Handler(), asked
}

func signature(secret string, at time.Time, body string) (stamp, signed string) {
	stamp = strconv.FormatInt(at.Unix(), 10)
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte("v0:" + stamp + ":" + body))
	return stamp, "v0=" + hex.EncodeToString(mac.Sum(nil))
}

// TestRefusedBeforeItIsRead sends what must not get in. Nothing is parsed,
// asked or written.
func TestRefusedBeforeItIsRead(t *testing.T) {
	t.Parallel()
	const form, events = "application/x-www-form-urlencoded", "application/json"
	payload := url.Values{"payload": {`{"type":"block_actions"}`}}.Encode()
	for _, c := range []struct {
		rule, path, kind, body, secret string
		at                             time.Time
		change                         func(*http.Request)
		want                           int
	}{
		{"a wrong secret", "/slack/interactions", form, payload, "another", noon, nil, http.StatusUnauthorized},
		{"too old", "/slack/interactions", form, payload, testSecret, noon.Add(-6 * time.Minute), nil, http.StatusUnauthorized},
		{"from the future", "/slack/commands", form, "text=help", testSecret, noon.Add(6 * time.Minute), nil, http.StatusUnauthorized},
		{"no signature", "/slack/events", events, "{}", testSecret, noon,
			func(r *http.Request) { r.Header.Del("X-Slack-Signature") }, http.StatusUnauthorized},
		{"another content type", "/slack/interactions", "text/plain", payload, testSecret, noon, nil, http.StatusUnsupportedMediaType},
		{"no content type", "/slack/interactions", "", payload, testSecret, noon, nil, http.StatusUnsupportedMediaType},
		{"a huge body", "/slack/commands", form, strings.Repeat("a", 2<<20), testSecret, noon, nil, http.StatusRequestEntityTooLarge},
		{"a payload in the address", "/slack/interactions?" + payload, form, "", testSecret, noon, nil, http.StatusBadRequest},
		{"an event that is no JSON", "/slack/events", events, "{", testSecret, noon, nil, http.StatusBadRequest},
		// Two people's deliveries could be taken for one another.
		{"a press without its trigger", "/slack/interactions", form, payload, testSecret, noon, nil, http.StatusBadRequest},
		{"a form without its trigger", "/slack/interactions", form, url.Values{"payload": {`{"type":"view_submission"}`}}.Encode(), testSecret, noon, nil, http.StatusBadRequest},
		{"a shortcut without its trigger", "/slack/interactions", form, url.Values{"payload": {`{"type":"message_action"}`}}.Encode(), testSecret, noon, nil, http.StatusBadRequest},
		{"a command without its trigger", "/slack/commands", form, "command=%2Fsoundings&text=mute", testSecret, noon, nil, http.StatusBadRequest},
		{"a GET", "/slack/commands", form, "", testSecret, noon, func(r *http.Request) { r.Method = http.MethodGet }, http.StatusMethodNotAllowed},
	} {
		t.Run(c.rule, func(t *testing.T) {
			handler, asked := aBot(t)
			r := httptest.NewRequest(http.MethodPost, c.path, bytes.NewBufferString(c.body))
			r.Header.Set("Content-Type", c.kind)
			stamp, signed := signature(c.secret, c.at, c.body)
			r.Header.Set("X-Slack-Request-Timestamp", stamp)
			r.Header.Set("X-Slack-Signature", signed)
			if c.change != nil {
				c.change(r)
			}
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, r)
			assert.Equal(t, c.want, w.Code, "status")
			assert.Equal(t, 0, *asked, "the platform was asked %d times", *asked)
		})
	}
}

// TestAnswersWhatItMust covers what the platform itself asks.
func TestAnswersWhatItMust(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ rule, path, kind, body, want string }{
		{"the address is verified", "/slack/events", "application/json", `{"type":"url_verification","challenge":"c4"}`, `"c4"`},
		{"help on nothing", "/slack/commands", "application/x-www-form-urlencoded", "command=%2Fsoundings&text=", "start a kickoff"},
		{"help on anything unknown", "/slack/commands", "application/x-www-form-urlencoded", "command=%2Fsoundings&text=%3C%21here%3E", "I do not know"},
		{"a probe", "/slack/commands", "application/x-www-form-urlencoded", "ssl_check=1", ""},
	} {
		t.Run(c.rule, func(t *testing.T) {
			handler, _ := aBot(t)
			r := signedRequest(c.path, c.kind, c.body)
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, r)
			assert.Equal(t, http.StatusOK, w.Code, "got %d %s, want 200 with", w.Code, w.Body)
			assert.Contains(t, w.Body.String(), c.want, "got %d %s, want 200 with", w.Code, w.Body)
			assert.NotContains(t, w.Body.String(), "<!here>", "what was typed came back unescaped")
		})
	}
}

// A frozen Redis keeps its connections and answers nothing. The platform waits
// three seconds and is answered before: whoever pressed sees an error and not
// nothing, and what was not acknowledged comes again.
func TestAnswersInTimeThoughRedisIsFrozen(t *testing.T) {
	address := storetest.Server(t) // skips where there is none
	rdb, err := journal.Open(t.Context(), "the test", address)
	require.NoError(t, err)
	t.Cleanup(func() { _ = rdb.Close() })
	b, err := bot.New(bot.Config{Journal: journal.New(rdb, journal.Options{}), Queue: jobs.NewVirtual(noon),
		Chat: chat.New("xoxb-test", "http://127.0.0.1:1/api/", nil), Clock: func() time.Time { return noon }, Secret: testSecret})
	require.NoError(t, err)
	const form, events = "application/x-www-form-urlencoded", "application/json"
	press := url.Values{"payload": {`{"type":"block_actions","trigger_id":"1.2","team":{"id":"T1"},"user":{"id":"U1"},` +
		`"actions":[{"action_id":"do/me.mute","value":"{\"k\":\"C1-1\"}"}]}`}}.Encode()
	thaw := storetest.Freeze(t, address)
	var all sync.WaitGroup
	for range 3 { // who comes second waits in line behind the first
		for path, what := range map[string][2]string{
			"/slack/interactions": {form, press},
			"/slack/commands":     {form, "command=%2Fsoundings&text=mute&trigger_id=1.3&team_id=T1&user_id=U1&channel_id=C1"},
			"/slack/events": {events, `{"type":"event_callback","event_id":"E1","team_id":"T1","authorizations":[{"team_id":"T1","user_id":"U9"}],` +
				`"event":{"type":"channel_archive","channel":"C1","user":"U1"}}`},
		} {
			all.Go(func() {
				began := time.Now()
				w := httptest.NewRecorder()
				b.Handler().ServeHTTP(w, signedRequest(path, what[0], what[1]))
				// TestInTime holds the 2.5 seconds; without them this takes 10.
				assert.Less(t, time.Since(began), 8*time.Second, path)
				assert.Equal(t, http.StatusInternalServerError, w.Code, path)
			})
		}
	}
	all.Wait()
	thaw()
	w := httptest.NewRecorder()
	b.Handler().ServeHTTP(w, signedRequest("/slack/commands", form, "command=%2Fsoundings&text=mute&trigger_id=1.3&team_id=T1&user_id=U1&channel_id=C1"))
	assert.Equal(t, http.StatusOK, w.Code, "once Redis goes on: %s", w.Body)
}

func signedRequest(path, kind, body string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(body))
	r.Header.Set("Content-Type", kind)
	stamp, signed := signature(testSecret, noon, body)
	r.Header.Set("X-Slack-Request-Timestamp", stamp)
	r.Header.Set("X-Slack-Signature", signed)
	return r
}
