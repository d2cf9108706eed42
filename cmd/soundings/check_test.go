package main

import (
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/manifest"
)

// An office is a platform and a server of models that answer check.
type office struct {
	scopes  string        // of the token; empty does not tell
	late    time.Duration // how far our clock is ahead of the platform's
	socket  string        // what apps.connections.open answers
	token   string        // what auth.test answers
	inside  bool          // whether the bot is in its channels
	models  string        // the list of models
	refuses int           // HTTP status in place of the list
	sent    []string      // what the server of models was asked
}

// wellRun is an office in which all is right.
func wellRun() *office {
	scopes := manifest.NeededScopes()
	for _, s := range manifest.OptionalScopes() {
		scopes = append(scopes, s.Name)
	}
	return &office{scopes: strings.Join(scopes, ","), inside: true, socket: `{"ok":true,"url":"wss://127.0.0.1/link"}`,
		token: `{"ok":true,"team":"Rehearsal","team_id":"T1","user":"soundings"}`, models: `{"data":[{"id":"small"},{"id":"large"}]}`}
}

func (o *office) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	switch r.URL.Path {
	case "/api/auth.test":
		w.Header().Set("X-OAuth-Scopes", o.scopes)
		w.Header().Set("Date", time.Now().Add(-o.late).UTC().Format(http.TimeFormat))
		fmt.Fprint(w, o.token)
	case "/api/apps.connections.open":
		fmt.Fprint(w, o.socket)
	case "/api/conversations.info":
		fmt.Fprintf(w, `{"ok":true,"channel":{"id":"C2","is_member":%v}}`, o.inside)
	case "/v1/models":
		o.sent = append(o.sent, r.Method+" "+r.Header.Get("Authorization"))
		if o.refuses != 0 {
			w.Header().Set("Location", "/elsewhere")
			http.Error(w, `{"error":{"message":"no"}}`, o.refuses)
			return
		}
		fmt.Fprint(w, o.models)
	default:
		http.Error(w, "nobody should ask for "+r.URL.Path, http.StatusTeapot)
	}
}

// open serves the office, and returns the settings for it.
func (o *office) open(t *testing.T, redisURL string, changes ...string) environ {
	t.Helper()
	server := httptest.NewServer(o)
	t.Cleanup(server.Close)
	return changed(socketEnviron(), append([]string{"SLACK_API_URL=" + server.URL + "/api/", "SOUNDINGS_REDIS_URL=" + redisURL,
		"SOUNDINGS_MODEL_URL=" + server.URL + "/v1", "SOUNDINGS_MODEL=small", "SOUNDINGS_MODEL_KEY=" + madeUpKey}, changes...)...)
}

// checked calls check --json and returns its verdicts and texts by item; of
// several findings about one item, the last.
func (e environ) checked(t *testing.T, code int) (verdicts, texts map[string]string) {
	t.Helper()
	a := e.call(t, "", "check", "--json")
	require.Equal(t, code, a.code, "exit %d, stderr %q, want %d; it printed:\n%s", a.code, a.errors, code, a.out)
	mustQuoteNone(t, a.out+a.errors, map[string]string{"bot": madeUpBot, "app": madeUpApp, "key": madeUpKey, "secret": madeUpSecret})
	var r checkResult
	require.NoError(t, json.Unmarshal([]byte(a.out), &r))
	assert.Equal(t, (code == exitGood), r.Good, "good is %v with %d to mend and exit %d", r.Good, r.Mend, a.code)
	assert.Equal(t, (r.Mend == 0), r.Good, "good is %v with %d to mend and exit %d", r.Good, r.Mend, a.code)
	verdicts, texts = map[string]string{}, map[string]string{}
	for _, f := range r.Findings {
		if verdicts[f.Item] != toMend {
			verdicts[f.Item], texts[f.Item] = f.Verdict, f.Text
		}
	}
	return verdicts, texts
}

// With a real server that keeps an append-only file, all is good.
func TestCheckFindsAllGood(t *testing.T) {
	t.Parallel()
	url := storetest.Server(t)
	configure(t, url, "appendonly", "yes")
	o := wellRun()
	e := o.open(t, url)
	verdicts, texts := e.checked(t, exitGood)
	want := map[string]string{}
	for _, item := range []string{"bot token", "scopes", "clock", "app token", "redis", "redis append", "redis persistence", "redis eviction", "redis latency", "channels", "model"} {
		want[item] = isGood
	}
	want["redis content"] = isNote                                          // nothing has begun
	assert.Contains(t, []string{isGood, isNote}, verdicts["redis latency"]) // this machine may be busy
	want["redis latency"] = verdicts["redis latency"]
	assert.Equal(t, want, verdicts, "got %v, want %v; texts %q", verdicts, want, texts)
	mustBeEmpty(t, url)
	assert.Equal(t, []string{"GET Bearer " + madeUpKey}, o.sent, "the model was asked")
	a := e.call(t, "", "check")
	lines := strings.Split(strings.TrimSpace(a.out), "\n")
	assert.False(t, a.code != exitGood || len(lines) != len(want) || !strings.HasPrefix(lines[0], "good  bot token "), "exit %d, as text:\n%s\nwant a line for each of %d items", a.code, a.out, len(want))
}

func configure(t *testing.T, url, name, value string) {
	t.Helper()
	require.NoError(t, storetest.Client(t, url).ConfigSet(t.Context(), name, value).Err())
}

// Each fault is found by itself, and its text holds the mend. The embedded
// store says nothing about itself, which is worth notes and no more.
func TestCheckFindsFaults(t *testing.T) {
	t.Parallel()
	url := storetest.Embedded(t)
	for _, tt := range []struct {
		rule    string
		change  func(*office)
		set     string
		item    string
		verdict string
		want    string
	}{
		{"the token is not taken", func(o *office) { o.token = `{"ok":false,"error":"token_revoked"}` }, "", "bot token", toMend, "SLACK_BOT_TOKEN is not accepted (token_revoked): copy"},
		{"a needed scope is missing", func(o *office) { o.scopes = "commands" }, "", "scopes", toMend, "lacks what the bot cannot do without: chat:write, app_mentions:read"},
		{"an optional scope is missing", func(o *office) { o.scopes = strings.ReplaceAll(o.scopes, ",groups:history", "") }, "", "scopes", isNote, "without groups:history in private channels a message may stand twice"},
		{"scopes are not told", func(o *office) { o.scopes = "" }, "", "scopes", isNote, "does not say which scopes"},
		{"a minute is still good", func(o *office) { o.late = 58 * time.Second }, "", "clock", isGood, "within "},
		{"two minutes ahead", func(o *office) { o.late = 2 * time.Minute }, "", "clock", toMend, " ahead of the platform's: let a time server"},
		{"two minutes behind", func(o *office) { o.late = -2 * time.Minute }, "", "clock", toMend, " behind the platform's: let a time server"},
		{"the app token has no scope", func(o *office) { o.socket = `{"ok":false,"error":"missing_scope"}` }, "", "app token", toMend, "SLACK_APP_TOKEN lacks the scope connections:write"},
		{"Socket Mode is off", func(o *office) { o.socket = `{"ok":false,"error":"socket_mode_not_enabled"}` }, "", "app token", toMend, "Socket Mode is switched off"},
		{"the app token is not taken", func(o *office) { o.socket = `{"ok":false,"error":"invalid_auth"}` }, "", "app token", toMend, "SLACK_APP_TOKEN is not accepted (invalid_auth)"},
		{"Redis is not there", func(*office) {}, "SOUNDINGS_REDIS_URL=redis://127.0.0.1:1/0", "redis", toMend, "SOUNDINGS_REDIS_URL: redis does not answer"},
		{"the key of the model is not taken", func(o *office) { o.refuses = 401 }, "", "model", toMend, "set SOUNDINGS_MODEL_KEY"},
		{"the server of models is not well", func(o *office) { o.refuses = 500 }, "", "model", toMend, "it fails by itself (500): look into the log"},
		{"the server of models is busy", func(o *office) { o.refuses = 429 }, "", "model", toMend, "takes no more requests for now (429): wait"},
		{"it goes elsewhere", func(o *office) { o.refuses = 307 }, "", "model", toMend, "points to another address"},
		{"it has no list", func(o *office) { o.refuses = 404 }, "", "model", isNote, "has no list of its models (404)"},
		{"it has no such model", func(*office) {}, "SOUNDINGS_MODEL=smal", "model", isNote, "lists no smal; if no draft comes, set SOUNDINGS_MODEL to one that it lists, such as small, large"},
		{"no server of models there", func(*office) {}, "SOUNDINGS_MODEL_URL=http://127.0.0.1:1/v1", "model", toMend, "at SOUNDINGS_MODEL_URL: "},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			o := wellRun()
			tt.change(o)
			e := o.open(t, url, tt.set)
			code := exitGood
			if tt.verdict == toMend {
				code = exitFailed
			}
			verdicts, texts := e.checked(t, code)
			assert.False(t, verdicts[tt.item] != tt.verdict || !strings.Contains(texts[tt.item], tt.want), "%s: got %q %q, want %q with %q", tt.item, verdicts[tt.item], texts[tt.item], tt.verdict, tt.want)
			for item, verdict := range verdicts {
				assert.False(t, item != tt.item && verdict == toMend, "%s is to be mended too: %s", item, texts[item])
			}
		})
	}
}

func TestCheckOverHTTP(t *testing.T) {
	t.Parallel()
	e := wellRun().open(t, storetest.Embedded(t), "SLACK_APP_TOKEN=", "SLACK_SIGNING_SECRET="+madeUpSecret, "SOUNDINGS_LISTEN=:8080",
		"SOUNDINGS_MODEL=", "SOUNDINGS_MODEL_URL=", "SOUNDINGS_MODEL_KEY=")
	verdicts, _ := e.checked(t, exitGood)
	assert.False(t, verdicts["signing secret"] != isNote || verdicts["app token"] != "" || verdicts["model"] != "", "got %v, want a note on the signing secret, and nothing on an app token or a model", verdicts)
}

// A kickoff goes on in a channel from which somebody removed the bot.
func TestCheckFindsChannelsWithoutTheBot(t *testing.T) {
	t.Parallel()
	url := storetest.Embedded(t)
	j := journal.New(storetest.Client(t, url), journal.Options{})
	first := strings.SplitN(string(read(t, "testdata/journals/v0-demo.jsonl")), "\n", 2)[0]
	for _, key := range []journal.Key{{Team: "T1", Kickoff: "K1"}, {Team: "T2", Kickoff: "K1"}} {
		_, err := j.Index.Claim(t.Context(), key.Team, "C1", key.Kickoff)
		require.NoError(t, err)
		_, err = j.Append(t.Context(), key, journal.Write{Data: []byte(first)})
		require.NoError(t, err)
	}
	o := wellRun()
	e := o.open(t, url)
	verdicts, texts := e.checked(t, exitGood)
	assert.False(t, verdicts["channels"] != isGood || !strings.Contains(texts["channels"], "all open kickoffs (1)"), "inside: got %q %q, want good, of this team alone", verdicts["channels"], texts["channels"])
	o.inside = false
	verdicts, texts = e.checked(t, exitFailed)
	assert.False(t, verdicts["channels"] != toMend || !strings.Contains(texts["channels"], "not in C1, where"), "outside: got %q %q, want the mend", verdicts["channels"], texts["channels"])
}

// The rehearsal workspace answers check as the platform does, as far as it
// tells anything.
func TestCheckAgainstARehearsal(t *testing.T) {
	t.Parallel()
	w := fakeslack.NewTeam(fakeslack.Config{})
	defer w.Close()
	server := httptest.NewServer(w.Handler())
	defer server.Close()
	e := changed(socketEnviron(), "SLACK_API_URL="+server.URL+"/api", "SOUNDINGS_REDIS_URL="+storetest.Embedded(t))
	verdicts, texts := e.checked(t, exitGood)
	for _, item := range []string{"bot token", "clock", "app token", "redis append", "channels"} {
		assert.Equal(t, isGood, verdicts[item], "%s: got %q %q, want good", item, verdicts[item], texts[item])
	}
}

func TestCheckStopsAtWrongSettings(t *testing.T) {
	t.Parallel()
	a := environ{"SLACK_BOT_TOKEN": madeUpBot}.call(t, "", "check")
	assert.Equal(t, exitWrong, a.code, "exit %d, stdout %q; want 2 and nothing", a.code, a.out)
	assert.Equal(t, "", a.out, "exit %d, stdout %q; want 2 and nothing", a.code, a.out)
	mustBeginLines(t, errText(strings.TrimSpace(a.errors)), "there is no way in\nSOUNDINGS_REDIS_URL is missing")
}

// Rows are settings of Redis; sources: its own configuration file, which
// explains each, and the promise that what was acknowledged is durable.
func TestStoreStates(t *testing.T) {
	t.Parallel()
	ok := storeState{version: "7.0.15", aof: "1", aofStatus: "ok", fsync: "everysec", eviction: "noeviction", pings: []time.Duration{time.Millisecond}}
	with := func(change func(*storeState)) storeState {
		s := ok
		change(&s)
		return s
	}
	for _, tt := range []struct {
		rule  string
		state storeState
		look  func(storeState, *findings)
		want  string
		text  string
	}{
		{"a version that is new enough", ok, storeState.examineVersion, isGood, "7.0.15"},
		{"streams came with 5", with(func(s *storeState) { s.version = "4.0.14" }), storeState.examineVersion, toMend, "needs 5 or later"},
		{"no version told", with(func(s *storeState) { s.version = "" }), storeState.examineVersion, isNote, "needs 5 or later"},
		{"every second", ok, storeState.examinePersistence, isGood, "may lose the last second"},
		{"always", with(func(s *storeState) { s.fsync = "always" }), storeState.examinePersistence, isGood, "nothing is lost"},
		{"left to the system", with(func(s *storeState) { s.fsync = "no" }), storeState.examinePersistence, toMend, "set it to everysec"},
		{"how often is not told", with(func(s *storeState) { s.fsync = "" }), storeState.examinePersistence, isGood, "does not say how often"},
		{"snapshots only", with(func(s *storeState) { s.aof, s.save, s.saveKnown = "0", "3600 1", true }), storeState.examinePersistence, toMend, "snapshots only"},
		{"nothing on disk", with(func(s *storeState) { s.aof, s.saveKnown = "0", true }), storeState.examinePersistence, toMend, "nothing on disk"},
		{"the disk is full", with(func(s *storeState) { s.aofStatus = "err" }), storeState.examinePersistence, toMend, "neither full nor broken"},
		{"persistence is not told", storeState{}, storeState.examinePersistence, isNote, "does not say"},
		{"nothing is thrown away", ok, storeState.examineEviction, isGood, "throws nothing away"},
		{"the least used go", with(func(s *storeState) { s.eviction = "allkeys-lru" }), storeState.examineEviction, toMend, "set it to noeviction"},
		{"eviction is not told", storeState{}, storeState.examineEviction, isNote, "must be noeviction"},
		{"slow answers among fast ones are chance", with(func(s *storeState) { s.pings = []time.Duration{time.Second, time.Second, time.Millisecond} }), storeState.examineLatency, isGood, "1ms"},
		{"slow answers are far away", with(func(s *storeState) {
			s.pings = []time.Duration{time.Second, 200 * time.Millisecond, 101 * time.Millisecond}
		}), storeState.examineLatency, isNote, "101ms (the fastest of 3): unless"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var all findings
			tt.look(tt.state, &all)
			got := all[0]
			assert.Equal(t, tt.want, got.Verdict, "got %+v, want %s with", got, tt.want)
			assert.Contains(t, got.Text, tt.text, "got %+v, want %s with", got, tt.want)
		})
	}
}

// What a real server says about itself is understood.
func TestCheckReadsARealServer(t *testing.T) {
	t.Parallel()
	url := storetest.Server(t)
	rdb := storetest.Client(t, url)
	state := func() storeState {
		t.Helper()
		s, err := askStore(t.Context(), rdb)
		require.NoError(t, err)
		return s
	}
	s := state()
	assert.Equal(t, storetest.Version(t), "redis-server "+s.version, "as it was started: got %+v", s)
	assert.Equal(t, "0", s.aof, "as it was started: got %+v", s)
	assert.Equal(t, "", s.save, "as it was started: got %+v", s)
	assert.True(t, s.saveKnown, "as it was started: got %+v", s)
	assert.Equal(t, "noeviction", s.eviction, "as it was started: got %+v", s)
	configure(t, url, "appendonly", "yes")
	configure(t, url, "appendfsync", "always")
	configure(t, url, "maxmemory-policy", "allkeys-lru")
	s = state()
	assert.Equal(t, "1", s.aof, "changed: got %+v", s)
	assert.Equal(t, "always", s.fsync, "changed: got %+v", s)
	assert.Equal(t, "allkeys-lru", s.eviction, "changed: got %+v", s)
}

// A server that lets an account do less than the bot needs.
func TestCheckFindsAnAccountWithoutScripts(t *testing.T) {
	t.Parallel()
	url := storetest.Server(t)
	admin := storetest.Client(t, url)
	require.NoError(t, admin.Do(t.Context(), "ACL", "SETUSER", "small", "on", ">made-up", "~*", "+@all", "-@scripting").Err())
	options, err := redis.ParseURL(url)
	require.NoError(t, err)
	options.Username, options.Password = "small", "made-up"
	rdb := redis.NewClient(options)
	defer rdb.Close()
	var all findings
	all.examineAppend(t.Context(), rdb)
	got := all[0]
	assert.Equal(t, toMend, got.Verdict, "got %+v, want the mend", got)
	assert.Contains(t, got.Text, "needs to run scripts", "got %+v, want the mend", got)
}

func TestCheckReady(t *testing.T) {
	t.Parallel()
	status := http.StatusOK
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		assert.Equal(t, "/readyz", r.URL.Path, "asked for")
		w.WriteHeader(status)
	}))
	address := server.Listener.Addr().String()
	e := environ{"SOUNDINGS_LISTEN": address}
	assert.Equal(t, "", e.good(t, "check", "--ready"), "ready: printed")
	status = http.StatusServiceUnavailable
	a := e.call(t, "", "check", "--ready")
	assert.Equal(t, exitFailed, a.code, "not ready: exit %d, stderr %q; want 1 and the status", a.code, a.errors)
	assert.True(t, strings.HasPrefix(a.errors, "the bot is not ready (503"), "not ready: exit %d, stderr %q; want 1 and the status", a.code, a.errors)
	server.Close()
	a = e.call(t, "", "check", "--ready")
	assert.Equal(t, exitFailed, a.code, "nobody there: exit %d, stderr %q; want 1", a.code, a.errors)
	assert.True(t, strings.HasPrefix(a.errors, "no bot answers"), "nobody there: exit %d, stderr %q; want 1", a.code, a.errors)
	mustRefuse(t, "SOUNDINGS_LISTEN is missing: without it the bot cannot be asked whether it is ready", "check", "--ready")
}

func TestBesideUs(t *testing.T) {
	t.Parallel()
	for address, want := range map[string]string{":8080": "127.0.0.1:8080", "0.0.0.0:80": "127.0.0.1:80", "[::]:80": "127.0.0.1:80",
		"127.0.0.1:1": "127.0.0.1:1", "bot.example:80": "bot.example:80", "[::1]:80": net.JoinHostPort("::1", "80")} {
		assert.Equal(t, want, besideUs(address), "besideUs(%q)", address)
	}
}

// What a workplace left behind that has taken the app away is named, with the day
// on which it goes.
func TestCheckNamesWhatWaitsToBePurged(t *testing.T) {
	t.Parallel()
	url := storetest.Embedded(t)
	rdb := storetest.Client(t, url)
	j := journal.New(rdb, journal.Options{})
	for team, since := range map[string]time.Time{"T1": time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC), "T2": time.Date(2027, 3, 2, 9, 0, 0, 0, time.UTC)} {
		_, err := j.Uninstalls.Add(t.Context(), team, since)
		require.NoError(t, err)
	}
	_, err := j.Index.Claim(t.Context(), "T1", "C1", "k")
	require.NoError(t, err)
	_, err = j.Uninstalls.BeginPurge(t.Context(), "T2", journal.Uninstall{Since: time.Date(2027, 3, 2, 9, 0, 0, 0, time.UTC)})
	require.NoError(t, err)
	k := checkup{settings: goodSettings(t, changed(installEnviron(), "SOUNDINGS_REDIS_URL="+url, "SOUNDINGS_PURGE_AFTER=10d"))}
	k.examineUninstalls(t.Context(), rdb)
	assert.Equal(t, findings{
		{"purge", isNote, "team T1 has taken the app away on 1 March 2027: its 1 kickoff and what people entered are removed on 11 March 2027, while serve runs; soundings purge --team T1 does it now"},
		{"purge", isNote, "a purge of team T2 has begun and waits to be finished: serve goes on with it, or soundings purge --team T2 --yes"},
	}, k.findings)
}
