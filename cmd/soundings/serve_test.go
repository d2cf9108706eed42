package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// within bounds every wait of these tests, in real time: longer than until the next
// sweep, which a busy machine may need.
const within = 2 * sweepEvery

// A served is a bot that serves a rehearsal workspace, as a program would:
// over sockets and HTTP, on a queue in Redis.
type served struct {
	workspace *fakeslack.Team
	service   *service
	log       *lockedBuffer
	lead      string
	other     string // who takes part beside the lead
	channel   string
	posted    chan struct{} // one token for each message that was posted
	stop      context.CancelFunc
	ended     chan error
}

// A lockedBuffer may be written to by many goroutines.
type lockedBuffer struct {
	mu  sync.Mutex
	all bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.all.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.all.String()
}

// startServing serves a workspace with two people in a channel. front, where
// given, stands before the workspace.
func startServing(t *testing.T, socket bool, front func(http.Handler) http.Handler) *served {
	t.Helper()
	r := &served{log: &lockedBuffer{}, posted: make(chan struct{}, 100), ended: make(chan error, 1)}
	r.workspace = fakeslack.NewTeam(fakeslack.Config{SigningSecret: madeUpSecret, EnforceRates: true})
	t.Cleanup(r.workspace.Close)
	handler := r.workspace.Handler()
	if front != nil {
		handler = front(handler)
	}
	platform := httptest.NewServer(handler)
	t.Cleanup(platform.Close)
	r.populate()
	r.start(t, r.settings(t, platform.URL, socket))
	return r
}

func (r *served) populate() {
	r.workspace.OnCall(func(c fakeslack.Call) {
		if c.Method == "chat.postMessage" && c.OK {
			select {
			case r.posted <- struct{}{}:
			default: // whoever waits looks at all of them anyway
			}
		}
	})
	r.lead = r.workspace.AddUser(fakeslack.User{Name: "ines", RealName: "Ines Zeppelin", Zone: "Europe/Lisbon"})
	r.other = r.workspace.AddUser(fakeslack.User{Name: "aroha", RealName: "Aroha Quicksand", Zone: "Pacific/Auckland"})
	r.channel = r.workspace.AddChannel(fakeslack.Channel{Name: "ferry-bicycles", Members: []string{r.workspace.BotUser(), r.lead, r.other}})
}

func (r *served) settings(t *testing.T, platform string, socket bool) settings {
	e := changed(httpEnviron(), "SOUNDINGS_LISTEN=127.0.0.1:0", "SLACK_API_URL="+platform+"/api", "SOUNDINGS_REDIS_URL="+storetest.Embedded(t))
	if socket {
		e = changed(e, "SLACK_SIGNING_SECRET=-", "SLACK_APP_TOKEN="+madeUpApp)
	}
	return goodSettings(t, e)
}

// start runs the service until the test ends, or until stop is called.
func (r *served) start(t *testing.T, s settings) {
	t.Helper()
	rdb, err := openRedis(t.Context(), "SOUNDINGS_REDIS_URL", s.RedisURL)
	require.NoError(t, err)
	t.Cleanup(func() { _ = rdb.Close() })
	r.service, err = newService(t.Context(), s, rdb, slog.New(slog.NewJSONHandler(r.log, nil)))
	require.NoError(t, err)
	r.workspace.SetBotURL("http://" + r.service.address())
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	r.stop = stop
	go func() { r.ended <- r.service.run(ctx) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-r.ended, "run ended with")
	})
	if s.socket() {
		// the platform counts a socket when it has opened it, the bot when it has read the hello
		require.Eventually(t, r.service.socket.Up, within, time.Millisecond, "no socket came up; the log:\n%s", r.log)
	}
}

// brief is what the lead types. None of it may be logged or measured.
func brief() map[string]string {
	return map[string]string{
		"title": "Bicycles on the Ferry", "why": "Complaints Doubled in Spring", "outcome": "Nobody Is Turned Away Unwarned",
		"problem": "Passengers with Bicycles Cannot Tell Before They Reach the Pier Whether There Is Room",
	}
}

// startKickoff types the command, fills in the form and submits it.
func (r *served) startKickoff(t *testing.T) {
	t.Helper()
	w := r.workspace
	require.NoError(t, w.Client.Command(t.Context(), r.lead, r.channel, "/soundings", "start"))
	form, open := w.Client.TopView(r.lead)
	require.True(t, open, "no form opened")
	at := slices.IndexFunc(blockkit.Elements(form.Blocks), func(e blockkit.Element) bool { return e.ActionID == "turn/brief.start" })
	require.GreaterOrEqual(t, at, 0, "the form has nothing behind More")
	more := blockkit.Elements(form.Blocks)[at]
	require.NoError(t, w.Client.Press(t.Context(), r.lead, fakeslack.Where{ViewID: form.ID}, more.ActionID, more.BlockID, blockkit.Value{}))
	for block, text := range brief() {
		require.NoError(t, w.Client.Type(r.lead, form.ID, block, "in", blockkit.Value{Text: text}))
	}
	require.NoError(t, w.Client.Type(r.lead, form.ID, "people", "in", blockkit.Value{IDs: []string{r.other}}))
	faults, err := w.Client.Submit(t.Context(), r.lead, form.ID)
	require.NoError(t, err, "submit")
	require.Empty(t, faults, "submit")
}

// awaitMessage waits until a message in the channel holds text.
func (r *served) awaitMessage(t *testing.T, text string) {
	t.Helper()
	late := time.After(within)
	for {
		for _, m := range r.workspace.Messages(r.channel) {
			if strings.Contains(m.Text+fmt.Sprint(m.Blocks), text) {
				return
			}
		}
		select {
		case <-r.posted:
		case <-late:
			t.Fatalf("no message holds %q; the log:\n%s", text, r.log)
		}
	}
}

// get asks the service and returns what it says.
func (r *served) get(t *testing.T, path string) (status int, body string) {
	t.Helper()
	answer, err := http.Get("http://" + r.service.address() + path)
	require.NoError(t, err)
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(data)
}

// private is everything about people and secrets that a kickoff touches.
func (r *served) private() []string {
	out := []string{madeUpBot, madeUpApp, madeUpSecret, "Zeppelin", "Quicksand", "aroha", r.lead, "ferry-bicycles", r.channel, r.workspace.TeamID()}
	for _, text := range brief() {
		out = append(out, text)
	}
	return out
}

// TestServe starts a kickoff in a workspace over the network, both ways.
func TestServe(t *testing.T) {
	t.Parallel()
	for _, way := range []struct {
		name   string
		socket bool
	}{{"HTTP", false}, {"Socket Mode", true}} {
		t.Run(way.name, func(t *testing.T) {
			r := startServing(t, way.socket, nil)
			r.startKickoff(t)
			r.awaitMessage(t, "Bicycles on the Ferry")
			r.mustTellOperators(t)
			r.mustLogNoWords(t)
			r.mustHideSlackPaths(t, way.socket)
		})
	}
}

// A workplace that takes the app away while it is served: whoever looks after the bot
// learns it from /readyz, and the program stays up, since it has to purge in time.
func TestReadyWhenTheAppIsTakenAway(t *testing.T) {
	for name, socket := range map[string]bool{"HTTP": false, "Socket Mode": true} {
		t.Run(name, func(t *testing.T) {
			r := startServing(t, socket, nil)
			status, _ := r.get(t, "/readyz")
			require.Equal(t, http.StatusOK, status)
			require.NoError(t, r.workspace.App.Uninstall(t.Context()))
			var body string
			require.Eventually(t, func() bool {
				status, body = r.get(t, "/readyz")
				return status == http.StatusServiceUnavailable
			}, within, 10*time.Millisecond, "it still calls itself ready")
			assert.Equal(t, "the workplace has taken the app away: install it again, and restart with its new token\n", body)
			status, _ = r.get(t, "/healthz")
			assert.Equal(t, http.StatusOK, status, "it is not to be killed")
		})
	}
}

// mustTellOperators asks the three addresses, and searches them for people.
func (r *served) mustTellOperators(t *testing.T) {
	t.Helper()
	for path, want := range map[string]string{
		"/healthz": "ok\n", "/readyz": "ready\n",
		"/metrics": `soundings_web_api_calls_total{error="",method="views.open",status="200"} 1`, // counted before the command was answered
	} {
		status, body := r.get(t, path)
		assert.Equal(t, http.StatusOK, status, "GET %s: got %d", path, status)
		assert.Contains(t, body, want, "GET %s: got %d", path, status)
		for _, secret := range r.private() {
			assert.NotContains(t, body, secret, "GET %s gives away", path)
		}
	}
}

// mustLogNoWords holds the log to what may be logged: ids, where something
// went wrong, and never a secret or what people wrote.
func (r *served) mustLogNoWords(t *testing.T) {
	t.Helper()
	log := r.log.String()
	assert.Contains(t, log, `"msg":"serving"`, "the log does not say that it serves")
	for _, secret := range r.private() {
		assert.NotContains(t, log, secret, "the log gives away")
	}
}

// mustHideSlackPaths sees that nothing is taken in by two ways at once.
func (r *served) mustHideSlackPaths(t *testing.T, socket bool) {
	t.Helper()
	want := http.StatusUnsupportedMediaType // it is there, and reads what it is sent
	if socket {
		want = http.StatusNotFound
	}
	answer, err := http.Post("http://"+r.service.address()+"/slack/commands", "text/plain", strings.NewReader("x"))
	require.NoError(t, err)
	answer.Body.Close()
	assert.Equal(t, want, answer.StatusCode, "POST /slack/commands")
}

// A request that is in hand when the service stops is finished and answered;
// after that nobody listens any more, and run returns.
func TestServeStopsGracefully(t *testing.T) {
	t.Parallel()
	inHand, release := make(chan struct{}), make(chan struct{})
	r := startServing(t, false, func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
			if strings.HasSuffix(req.URL.Path, "/views.open") {
				close(inHand)
				<-release
			}
			next.ServeHTTP(w, req)
		})
	})
	answered := make(chan error, 1)
	go func() { answered <- r.workspace.Client.Command(t.Context(), r.lead, r.channel, "/soundings", "start") }()
	mustHappen(t, "the request is in hand", inHand)
	r.stop()
	r.mustRefuseConnections(t)
	select {
	case err := <-r.ended:
		t.Fatalf("the service ended with %v although a request was in hand", err)
	default:
	}
	close(release)
	assert.NoError(t, <-answered, "the request in hand was answered with")
	err := <-r.ended
	r.ended <- err // for the end of the test
	assert.Contains(t, r.log.String(), `"msg":"stopped"`, "the log does not say that it has stopped")
}

func mustHappen(t *testing.T, what string, event <-chan struct{}) {
	t.Helper()
	select {
	case <-event:
	case <-time.After(within):
		t.Fatalf("it never came to this: %s", what)
	}
}

// mustRefuseConnections waits until nobody listens any more.
func (r *served) mustRefuseConnections(t *testing.T) {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: time.Second}
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	late := time.After(within)
	for {
		answer, err := client.Get("http://" + r.service.address() + "/healthz")
		if err != nil {
			return
		}
		answer.Body.Close()
		select {
		case <-tick.C:
		case <-late:
			t.Fatal("the service still takes requests")
		}
	}
}

// Without Redis no request can be made durable, so none should be sent here.
func TestNotReadyWithoutRedis(t *testing.T) {
	t.Parallel()
	url, stop, err := journal.StartEmbedded()
	require.NoError(t, err)
	rdb, err := openRedis(t.Context(), "SOUNDINGS_REDIS_URL", url)
	require.NoError(t, err)
	defer rdb.Close()
	p := &service{rdb: rdb, journal: journal.New(rdb, journal.Options{}), log: slog.New(slog.DiscardHandler)}
	ask := func() int {
		w := httptest.NewRecorder()
		p.ready(w, httptest.NewRequest(http.MethodGet, "/readyz", nil))
		return w.Code
	}
	assert.Equal(t, http.StatusOK, ask(), "with Redis")
	stop()
	assert.Equal(t, http.StatusServiceUnavailable, ask(), "without Redis")
}

// What shows only when the service starts stops it too, each with its mend.
func TestServeStopsWhenItCannotWork(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		rule, answer, scopes, listen string
		code                         int
		want                         string
	}{
		{"the token is not taken", `{"ok":false,"error":"invalid_auth"}`, "", "127.0.0.1:0", exitWrong, "SLACK_BOT_TOKEN is not accepted (invalid_auth): copy"},
		{"a scope is missing", `{"ok":true,"team_id":"T1"}`, "commands,chat:write,app_mentions:read,groups:read,users:read", "127.0.0.1:0", exitWrong,
			"the token in SLACK_BOT_TOKEN lacks what the bot cannot do without: channels:read; add it"},
		{"the platform is not well", `{"ok":false,"error":"internal_error"}`, "", "127.0.0.1:0", exitFailed, "the platform answers internal_error"},
		{"the platform is overloaded", "503", "", "127.0.0.1:0", exitFailed, "the platform is not well (HTTP status 503): try again later"},
		{"the platform is asked too often", "429", "", "127.0.0.1:0", exitFailed, "the platform is asked too often just now: try again in 7s"},
		{"no Web API there", `<html>`, "", "127.0.0.1:0", exitFailed, "no Web API at SLACK_API_URL: "},
		{"an address of another machine", `{"ok":true}`, "", "192.0.2.1:8080", exitFailed, "listen on SOUNDINGS_LISTEN: "},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			platform := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
				w.Header().Set("X-OAuth-Scopes", tt.scopes)
				w.Header().Set("Retry-After", "7")
				if status, err := strconv.Atoi(tt.answer); err == nil {
					w.WriteHeader(status)
				}
				fmt.Fprint(w, tt.answer)
			}))
			defer platform.Close()
			e := changed(httpEnviron(), "SLACK_API_URL="+platform.URL+"/api/", "SOUNDINGS_LISTEN="+tt.listen, "SOUNDINGS_REDIS_URL="+storetest.Embedded(t))
			a := e.call(t, "", "serve")
			assert.Equal(t, tt.code, a.code, "exit %d, stderr %q; want %d, beginning with %q", a.code, a.errors, tt.code, tt.want)
			faults := faultsIn(t, a.errors)
			require.Len(t, faults, 1)
			assert.True(t, strings.HasPrefix(faults[0], tt.want), "exit %d, stderr %q; want %d, beginning with %q", a.code, a.errors, tt.code, tt.want)
			mustQuoteNone(t, a.errors, httpEnviron())
		})
	}
}

// A bot whose token is dead serves nothing and says so. What its team held goes all
// the same once the grace is over, and not before: nobody restarts a program that
// ends with 2.
func TestDeadTokenStaysUpAndPurges(t *testing.T) {
	t.Parallel()
	e := keepDemo(t, journal.Key{Team: "T1", Kickoff: "K1"})
	platform := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, `{"ok":false,"error":"account_inactive"}`)
	}))
	defer platform.Close()
	s := goodSettings(t, changed(httpEnviron(), "SLACK_API_URL="+platform.URL+"/api/", "SOUNDINGS_LISTEN=127.0.0.1:0",
		"SOUNDINGS_REDIS_URL="+e["SOUNDINGS_REDIS_URL"], "SOUNDINGS_PURGE_AFTER=48h"))
	rdb := storetest.Client(t, s.RedisURL)
	start := func() (p *service, end func()) {
		p, err := newService(t.Context(), s, rdb, slog.New(slog.DiscardHandler))
		require.NoError(t, err)
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- p.run(ctx) }()
		return p, func() { stop(); assert.NoError(t, <-ended) }
	}
	ask := func(p *service, method, path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		p.handler().ServeHTTP(w, httptest.NewRequest(method, path, nil))
		return w
	}

	p, end := start()
	ready := ask(p, http.MethodGet, "/readyz")
	assert.Equal(t, http.StatusServiceUnavailable, ready.Code)
	assert.Contains(t, ready.Body.String(), "SLACK_BOT_TOKEN is not accepted (account_inactive)")
	assert.Equal(t, http.StatusNotFound, ask(p, http.MethodPost, "/slack/commands").Code, "nothing is served")
	end()

	gone, err := p.journal.Uninstalls.All(t.Context())
	require.NoError(t, err)
	require.Contains(t, gone, "T1", "the only team that there is must be the one of the token")
	for _, tt := range []struct {
		rule string
		gone time.Duration
		left string
	}{
		{"within the grace", 47 * time.Hour, "K1"},
		{"after it", 49 * time.Hour, "There are no kickoffs."},
	} {
		gone, err := p.journal.Uninstalls.All(t.Context())
		require.NoError(t, err)
		_, err = p.journal.Uninstalls.Remove(t.Context(), "T1", gone["T1"])
		require.NoError(t, err)
		_, err = p.journal.Uninstalls.Add(t.Context(), "T1", time.Now().Add(-tt.gone))
		require.NoError(t, err)
		_, end = start()
		assert.Eventually(t, func() bool {
			a := e.call(t, "", "export", "--list") // it may fail at a kickoff that is removed just now
			return a.code == exitGood && strings.Contains(a.out, tt.left)
		}, within, 50*time.Millisecond, tt.rule)
		end()
	}
}
