package bot_test

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/incoming"
	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
	"soundings/bot/manifest"
	"soundings/bot/screens/screen"
	"soundings/flows/state"
)

// Two teams are two workspaces behind one platform and one bot that serves
// both. Their people and channels have the same ids and names.
type twoTeams struct {
	t      *testing.T
	rdb    redis.UniversalClient
	clock  *jobs.Virtual
	config bot.Config
	bot    *bot.Bot
	store  *installs.Store
	url    string // of the bot
	api    string // of the platform
	log    *bytes.Buffer
	quay   *testBot
	dock   *testBot
}

const grace = 30 * 24 * time.Hour

func newTwoTeams(t *testing.T, rdb redis.UniversalClient) *twoTeams {
	t.Helper()
	h := &twoTeams{t: t, rdb: rdb, clock: jobs.NewVirtual(noon), log: &bytes.Buffer{}}
	h.quay = h.newTeam("TQUAY", nil)
	h.dock = h.newTeam("TDOCK", h.quay.ws)
	platform := newSharedAddress(h.quay.ws, h.dock.ws)
	web := httptest.NewServer(platform.Handler())
	t.Cleanup(web.Close)
	platform.SetURL(web.URL)
	h.api = web.URL + "/api/"
	// Made up for this test, and good for nothing.
	keys, err := installs.NewKeys("EBESExQVFhcYGRobHB0eHyAhIiMkJSYnKCkqKywtLi8=", "")
	must(t, err)
	h.store = installs.New(rdb, keys)
	h.config = bot.Config{
		Journal: journal.New(rdb, journal.Options{}), Queue: h.clock, Clock: h.clock.Now, Secret: testSecret, Lookups: 1, Installs: h.store,
		ChatWith:    func(token string) *chat.Client { return chat.New(token, web.URL+"/api/", nil) },
		InstallPage: "https://bot.example/slack/install", PurgeAfter: grace, Logger: slog.New(slog.NewJSONHandler(h.log, nil)),
	}
	h.restart()
	var pages http.Handler
	door := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodGet {
			pages.ServeHTTP(w, r)
			return
		}
		h.bot.Handler().ServeHTTP(w, r)
	}))
	t.Cleanup(door.Close)
	flow, err := installs.NewFlow(installs.FlowConfig{Store: h.store, ClientID: "1.2", Secret: "made-up-client-secret", Public: door.URL, API: web.URL + "/api/",
		Needed: manifest.NeededScopes(), Save: func(ctx context.Context, i installs.Install) error { return h.bot.Teams.Install(ctx, i) },
		Clock: h.clock.Now, Logger: h.config.Logger})
	must(t, err)
	pages, h.url = flow.Handler(), door.URL
	for _, p := range h.teams() {
		p.ws.SetBotURL(door.URL)
	}
	return h
}

func must(t *testing.T, err error) {
	t.Helper()
	require.NoError(t, err)
}

func (h *twoTeams) newTeam(team string, sameApp *fakeslack.Team) *testBot {
	p := &testBot{t: h.t, clock: h.clock}
	p.addTeam(fakeslack.Config{Clock: h.clock.Now, SigningSecret: testSecret, EnforceRates: true, Team: team, TeamID: team,
		ClientID: "1.2", ClientSecret: "made-up-client-secret", SameApp: sameApp})
	for _, name := range []string{"Ana", "Bo"} {
		p.ids[name] = p.ws.AddUser(fakeslack.User{Name: strings.ToLower(name), RealName: name + " of " + team, Zone: "Europe/Lisbon"})
	}
	p.channel = p.ws.AddChannel(fakeslack.Channel{Name: "ferry", Members: []string{p.ws.BotUser(), p.ids["Ana"], p.ids["Bo"]}})
	return p
}

func (h *twoTeams) teams() []*testBot { return []*testBot{h.quay, h.dock} }

// restart is a new process on the same Redis.
func (h *twoTeams) restart() {
	h.t.Helper()
	b, err := bot.New(h.config)
	must(h.t, err)
	h.bot = b
	for _, p := range h.teams() {
		p.bot = b
	}
}

// install goes the way of a person's browser, and returns the page at its end.
func (h *twoTeams) install(team string) string {
	h.t.Helper()
	jar, err := cookiejar.New(nil)
	must(h.t, err)
	browser := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	begun, err := browser.Get(h.url + installs.InstallPath)
	must(h.t, err)
	begun.Body.Close()
	to, err := begun.Location()
	must(h.t, err)
	back, err := slacktest.Consent(browser, to.String(), team)
	must(h.t, err)
	end, err := browser.Get(back.String())
	must(h.t, err)
	defer end.Body.Close()
	body, err := io.ReadAll(end.Body)
	must(h.t, err)
	return string(body)
}

func (h *twoTeams) installBoth() {
	h.t.Helper()
	for _, p := range h.teams() {
		require.Contains(h.t, h.install(p.ws.TeamID()), "Soundings is in "+p.ws.TeamID(), "install in %s", p.ws.TeamID())
	}
}

// start begins a kickoff that names its team everywhere.
func (h *twoTeams) start(p *testBot) journal.Key {
	h.t.Helper()
	must(h.t, p.ws.Client.Command(h.t.Context(), p.ids["Ana"], p.channel, "/soundings", "start"))
	p.submit("Ana", map[string]blockkit.Value{"title": {Text: "Bicycles at " + p.ws.TeamID()},
		"problem": {Text: "Passengers cannot tell whether there is room at " + p.ws.TeamID() + "."}, "people": {IDs: []string{p.ids["Bo"]}}})
	p.pass(5 * time.Minute)
	keys, err := h.config.Journal.Index.All(h.t.Context(), p.ws.TeamID())
	must(h.t, err)
	require.NotEmpty(h.t, keys, "no kickoff began")
	return keys[len(keys)-1]
}

// everything is all that people of a workspace can read of the bot's.
func (h *twoTeams) everything(p *testBot) string {
	var all strings.Builder
	for _, m := range p.ws.Messages(p.channel) {
		all.WriteString(m.Text + wordsOf(m.Blocks) + "\n")
	}
	for _, who := range []string{"Ana", "Bo"} {
		all.WriteString(p.openHome(who) + "\n")
	}
	return all.String()
}

// dumped is everything in Redis: keys and values, as a copy of its file holds
// them.
func (h *twoTeams) dumped() string {
	h.t.Helper()
	var all strings.Builder
	for key, texts := range storetest.Held(h.t, h.rdb) {
		all.WriteString("\n" + key + " " + strings.Join(texts, " "))
	}
	return all.String()
}

func (h *twoTeams) lacks(where, text string, secrets ...string) {
	h.t.Helper()
	for _, secret := range secrets {
		assert.NotContains(h.t, text, secret, "%s holds", where)
	}
}

// Two teams whose channels, people and kickoffs have the same ids and names
// do not mix.
func TestTwoTeamsDoNotMix(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		h := newTwoTeams(t, rdb)
		h.installBoth()
		keys := []journal.Key{h.start(h.quay), {}}
		keys[1] = h.start(h.dock)
		require.Equal(t, h.dock.channel, h.quay.channel, "the ids of the teams differ, so this shows nothing")
		require.Equal(t, h.dock.ids["Ana"], h.quay.ids["Ana"], "the ids of the teams differ, so this shows nothing")
		for i, p := range h.teams() {
			other := h.teams()[1-i].ws.TeamID()
			text := h.everything(p)
			h.lacks("what people of "+p.ws.TeamID()+" read", text, other)
			// the channel, and two home tabs
			assert.GreaterOrEqual(t, strings.Count(text, "Bicycles at "+p.ws.TeamID()), 3, "%s reads too little of its own:\n%s", p.ws.TeamID(), text)
			k, err := h.bot.Kickoffs.Load(t.Context(), keys[i])
			must(t, err)
			assert.Equal(t, "Bicycles at "+p.ws.TeamID(), k.Brief.Title, "the export of %s is %q of", p.ws.TeamID(), k.Brief.Title)
			assert.Equal(t, p.ws.TeamID(), k.Team, "the export of %s is %q of", p.ws.TeamID(), k.Brief.Title)
			all, err := h.config.Journal.Index.All(t.Context(), p.ws.TeamID())
			must(t, err)
			assert.Len(t, all, 1, "kickoffs of %s", p.ws.TeamID())
			assert.NotZero(t, p.called("chat.postMessage"), "nothing was sent with the token of %s", p.ws.TeamID())
		}
		// The kickoff of one team is unknown to a press in the other.
		h.foreign(keys[0])
		h.lacks("the log", h.log.String(), "xoxb", "made-up", "Bicycles")
		h.lacks("Redis", h.dumped(), "xoxb", "made-up")
	})
}

// foreign presses, in the dock, a button of a kickoff that only the quay has.
func (h *twoTeams) foreign(key journal.Key) {
	h.t.Helper()
	before, err := h.bot.Kickoffs.Load(h.t.Context(), key)
	must(h.t, err)
	for _, team := range []string{"TDOCK", "TELSE"} { // nobody installed it in the second
		in := incoming.Interaction{Type: "block_actions", TriggerID: "made.up"}
		in.Team.ID, in.User.ID = team, h.dock.ids["Ana"]
		in.Actions = []slack.BlockAction{{ActionID: "do/me.mute", Value: screen.Args{Kickoff: key.Kickoff}.String()}}
		answer, err := h.bot.Interact(h.t.Context(), in)
		assert.Nil(h.t, answer, "a press in %s", team)
		assert.NoError(h.t, err, "a press in %s", team)
	}
	after, err := h.bot.Kickoffs.Load(h.t.Context(), key)
	must(h.t, err)
	assert.Equal(h.t, before.Version, after.Version, "something was written")
}

// A team that takes the app away: nothing is sent there from any process, its
// token is gone at once, the other team does not notice; put back within the
// grace, everything goes on where it was.
func TestUninstallAndBack(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		h := newTwoTeams(t, rdb)
		h.installBoth()
		key := h.start(h.quay)
		h.start(h.dock)
		sent := h.quay.called("chat.postMessage")
		must(t, h.quay.ws.App.Uninstall(t.Context()))
		_, err := h.store.Get(t.Context(), "TQUAY")
		assert.ErrorIs(t, err, installs.ErrNotInstalled, "its token")
		h.restart() // which remembers
		h.quay.pass(3 * 24 * time.Hour)
		must(t, h.bot.Kickoffs.Sweep(t.Context()))
		must(t, h.bot.Teams.PurgeDue(t.Context()))
		got := h.quay.called("chat.postMessage")
		assert.Equal(t, sent, got, "%d messages were sent after it was taken away", got-sent)
		must(t, h.quay.ws.Client.Command(t.Context(), h.quay.ids["Ana"], h.quay.channel, "/soundings", "help"))
		told := ephemerals(h.quay.ws, h.quay.channel, h.quay.ids["Ana"])
		assert.False(t, len(told) == 0 || !strings.Contains(told[len(told)-1].Text, "https://bot.example/slack/install"), "the command says %v", told)
		assert.Contains(t, h.everything(h.dock), "Bicycles at TDOCK", "the other team reads")
		h.install("TQUAY")
		h.quay.pass(time.Hour)
		k, err := h.bot.Kickoffs.Load(t.Context(), key)
		assert.NoError(t, err, "stage %s, %v: the window that passed meanwhile has not closed", k.Stage, err)
		assert.NotEqual(t, state.Stage("brief"), k.Stage, "stage %s, %v: the window that passed meanwhile has not closed", k.Stage, err)
		assert.NotEqual(t, sent, h.quay.called("chat.postMessage"), "nothing of what had waited was sent")
		assert.Contains(t, h.everything(h.quay), "Bicycles at TQUAY", "it reads")
	})
}

// After the grace nothing is left of the team, and all of the other one.
func TestPurgeAfterTheGrace(t *testing.T) {
	t.Parallel()
	storetest.Each(t, func(t *testing.T, _ string, rdb redis.UniversalClient) {
		h := newTwoTeams(t, rdb)
		h.installBoth()
		key := h.start(h.quay)
		h.start(h.dock)
		must(t, h.quay.ws.App.Uninstall(t.Context()))
		h.clock.Advance(h.clock.Now().Add(grace - time.Minute))
		must(t, h.bot.Teams.PurgeDue(t.Context()))
		require.Contains(t, h.dumped(), "Bicycles at TQUAY", "it was purged before its time")
		h.clock.Advance(h.clock.Now().Add(2 * time.Minute))
		for range 2 {
			must(t, h.bot.Teams.PurgeDue(t.Context()))
		}
		left := h.dumped()
		h.lacks("Redis", left, "TQUAY")
		assert.Contains(t, left, "Bicycles at TDOCK", "the other team lost something")
		assert.Contains(t, left, "TDOCK", "the other team lost something")
		// What this process had in mind is forgotten too, and a kickoff can begin.
		k, err := h.bot.Kickoffs.Load(t.Context(), key)
		assert.NoError(t, err, "the kickoff still has version")
		assert.Equal(t, int64(0), k.Version, "the kickoff still has version")
		h.install("TQUAY")
		h.start(h.quay)
		h.lacks("the log", h.log.String(), "xoxb", "Bicycles")
	})
}

// A purge that is cut off at any step is brought to its end by the next one.
// An install that comes upon one finds everything, where it had not begun, or
// nothing.
func TestPurgeCutOff(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule string
		end  func(*twoTeams)
	}{
		{"and done again", func(h *twoTeams) { must(h.t, h.bot.Teams.PurgeDue(h.t.Context())) }},
		{"and installed again", (*twoTeams).allOrNothing},
	} {
		t.Run(c.rule, func(t *testing.T) {
			m := &crasher{}
			rdb := storetest.Client(t, storetest.Embedded(t))
			rdb.AddHook(m)
			h := newTwoTeams(t, rdb)
			for steps := 0; ; steps++ {
				h.installBoth()
				h.start(h.quay)
				must(t, h.quay.ws.App.Uninstall(t.Context()))
				h.clock.Advance(h.clock.Now().Add(grace))
				m.crashAfter(steps, nil)
				err := h.bot.Teams.PurgeDue(t.Context())
				hasCrashed := m.revive()
				assert.False(t, hasCrashed && err == nil, "cut off at step %d, it says nothing", steps)
				h.restart()
				c.end(h)
				h.lacks("Redis", h.dumped(), "TQUAY")
				if !hasCrashed {
					assert.GreaterOrEqual(t, steps, 10, "it has %d steps only", steps)
					return
				}
			}
		})
	}
}

// allOrNothing installs the app again, and leaves nothing behind.
func (h *twoTeams) allOrNothing() {
	h.t.Helper()
	h.install("TQUAY")
	keys, err := h.config.Journal.Index.All(h.t.Context(), "TQUAY")
	must(h.t, err)
	if len(keys) == 0 {
		h.lacks("Redis", strings.ReplaceAll(h.dumped(), " TQUAY 1.", ""), "TQUAY") // but for its token
	} else {
		text := h.everything(h.quay)
		assert.GreaterOrEqual(h.t, strings.Count(text, "Bicycles at TQUAY"), 3, "it has a kickoff, and reads:\n%s", text)
	}
	must(h.t, h.quay.ws.App.Uninstall(h.t.Context()))
	h.clock.Advance(h.clock.Now().Add(grace + time.Second))
	must(h.t, h.bot.Teams.PurgeDue(h.t.Context()))
}

// A token that is dead without a word of the platform stops its team at the
// first answer that says so.
func TestRevokedWithoutAWord(t *testing.T) {
	t.Parallel()
	h := newTwoTeams(t, storetest.Client(t, storetest.Embedded(t)))
	h.installBoth()
	key := h.start(h.quay)
	h.quay.ws.SetBotURL("http://127.0.0.1:1") // nothing that it tells arrives
	require.Error(t, h.quay.ws.App.Uninstall(t.Context()), "the bot has heard of it")
	h.quay.pass(3 * 24 * time.Hour)
	_, away, err := h.config.Journal.Uninstalls.Get(t.Context(), "TQUAY")
	require.NoError(t, err, "away %v", away)
	require.True(t, away, "away %v", away)
	h.quay.ws.SetBotURL(h.url)
	h.install("TQUAY")
	h.quay.pass(time.Hour)
	k, err := h.bot.Kickoffs.Load(t.Context(), key)
	assert.NoError(t, err, "stage")
	assert.NotEqual(t, state.Stage("brief"), k.Stage, "stage")
	text := h.everything(h.quay)
	assert.GreaterOrEqual(t, strings.Count(text, "Bicycles at TQUAY"), 3, "it reads:\n%s", text)
}

// What the platform tells late ends no install that came since.
func TestToldLate(t *testing.T) {
	t.Parallel()
	h := newTwoTeams(t, storetest.Client(t, storetest.Embedded(t)))
	h.installBoth()
	h.quay.ws.SetBotURL("http://127.0.0.1:1")
	require.Error(t, h.quay.ws.App.Uninstall(t.Context()), "the bot has heard of it")
	h.quay.ws.SetBotURL(h.url)
	h.clock.Advance(h.clock.Now().Add(10 * time.Minute))
	h.install("TQUAY")
	must(t, h.quay.ws.Outbox.Redeliver(t.Context()))
	_, err := h.store.Get(t.Context(), "TQUAY")
	assert.NoError(t, err, "its token")
	h.start(h.quay)
}

// With one token for one team, the mark is shared and remembered just so, and
// no purge takes what belongs to a token that the platform still takes.
func TestOneTokenAway(t *testing.T) {
	t.Parallel()
	p := newPair(t)
	p.begin()
	team, sent := p.ws.TeamID(), p.called("chat.postMessage")
	p.event(`{"type":"app_uninstalled"}`)
	other, err := bot.New(p.config)
	must(t, err)
	p.bot = other
	p.pass(24 * time.Hour)
	got := p.called("chat.postMessage")
	assert.Equal(t, sent, got, "another process sent %d messages", got-sent)
	p.clock.Advance(p.clock.Now().Add(grace))
	must(t, other.Teams.PurgeDue(t.Context())) // the token is good: it was a false alarm
	keys, err := p.journal.Index.All(t.Context(), team)
	require.NoError(t, err, "left")
	require.Len(t, keys, 1, "left")
	_, away, err := p.journal.Uninstalls.Get(t.Context(), team)
	assert.NoError(t, err, "away %v", away)
	assert.False(t, away, "away %v", away)
	must(t, p.ws.App.Uninstall(t.Context()))
	p.clock.Advance(p.clock.Now().Add(grace + time.Minute))
	must(t, other.Teams.PurgeDue(t.Context()))
	keys, err = p.journal.Index.All(t.Context(), team)
	assert.NoError(t, err, "left")
	assert.Empty(t, keys, "left")
}

// One socket, with one app-level token, brings what people do in all teams.
func TestSocketOfTwoTeams(t *testing.T) {
	t.Parallel()
	h := newTwoTeams(t, storetest.Client(t, storetest.Embedded(t)))
	h.installBoth()
	for _, p := range h.teams() {
		p.ws.SetBotURL("") // nothing comes over HTTP any more
		defer p.ws.Close()
	}
	socket := h.bot.NewSocket("", "xapp-made-up", h.api)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- socket.Run(ctx) }()
	defer func() {
		stop()
		assert.NoError(t, <-ended)
	}()
	waiting, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	must(t, h.quay.ws.AwaitSockets(waiting, 1))
	for _, p := range h.teams() {
		h.start(p)
		text := h.everything(p)
		assert.GreaterOrEqual(t, strings.Count(text, "Bicycles at "+p.ws.TeamID()), 3, "%s reads:\n%s", p.ws.TeamID(), text)
	}
}
