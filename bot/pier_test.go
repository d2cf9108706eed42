package bot_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot"
	"soundings/bot/chat"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/journal/storetest"
)

// A pier is a workspace with the real bot in it and a few people: Ana, who
// leads, and Bo are in the channel, Cy and Ivy, a guest, come later.
type pier struct {
	t       *testing.T
	ws      *fakeslack.Team
	clock   *jobs.Virtual
	config  bot.Config
	bot     *bot.Bot
	channel string
	ids     map[string]string
	journal *journal.Journal
	refuses *refusing

	shutsOut *shutting // lets messages to one channel fail

	mu    sync.Mutex
	calls map[string]int // of the Web API, by method
}

// refusing lets calls of one method fail with an error of the platform.
type refusing struct {
	mu     sync.Mutex
	method string
	code   string
}

func (r *refusing) set(method, code string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.method, r.code = method, code
}

func (r *refusing) RoundTrip(q *http.Request) (*http.Response, error) {
	r.mu.Lock()
	method, code := r.method, r.code
	r.mu.Unlock()
	if method == "" || !strings.HasSuffix(q.URL.Path, "/"+method) {
		return http.DefaultTransport.RoundTrip(q)
	}
	body := io.NopCloser(strings.NewReader(fmt.Sprintf(`{"ok":false,"error":%q}`, code)))
	return &http.Response{StatusCode: http.StatusOK, Header: http.Header{"Content-Type": {"application/json"}}, Body: body, Request: q}, nil
}

func newPier(t *testing.T) *pier {
	t.Helper()
	p := &pier{t: t, clock: jobs.NewVirtual(noon), ids: map[string]string{}, calls: map[string]int{}, refuses: &refusing{}}
	p.ws = fakeslack.NewTeam(fakeslack.Config{Clock: p.clock.Now, SigningSecret: testSecret, EnforceRates: true})
	p.ws.OnCall(func(c fakeslack.Call) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.calls[c.Method]++
	})
	web := httptest.NewServer(p.ws.Handler())
	t.Cleanup(web.Close)
	p.ws.SetURL(web.URL)
	p.shutsOut = &shutting{next: p.refuses}
	p.journal = journal.New(storetest.Client(t, storetest.Embedded(t)), journal.Options{})
	p.config = bot.Config{
		Journal: p.journal,
		Queue:   p.clock, Clock: p.clock.Now, Secret: testSecret, Lookups: 1,
		Chat: chat.New("xoxb-pier", web.URL+"/api/", &http.Client{Transport: p.shutsOut, Timeout: 10 * time.Second}),
	}
	p.restart()
	door := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { p.bot.Handler().ServeHTTP(w, r) }))
	t.Cleanup(door.Close)
	p.ws.SetBotURL(door.URL)
	for _, name := range []string{"Ana", "Bo", "Cy", "Ivy"} {
		p.ids[name] = p.ws.AddUser(fakeslack.User{Name: strings.ToLower(name), RealName: name, Zone: "Europe/Lisbon", Guest: name == "Ivy"})
	}
	p.channel = p.ws.AddChannel(fakeslack.Channel{Name: "ferry", Private: true, Members: []string{p.ws.BotUser(), p.ids["Ana"], p.ids["Bo"]}})
	return p
}

// restart is a new process.
func (p *pier) restart() {
	p.t.Helper()
	b, err := bot.New(p.config)
	p.check(err)
	p.bot = b
}

func (p *pier) check(err error) {
	p.t.Helper()
	require.NoError(p.t, err)
}

func (p *pier) called(method string) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.calls[method]
}

// pass lets time pass, and the bot do what comes due.
func (p *pier) pass(d time.Duration) {
	p.t.Helper()
	until := p.clock.Now().Add(d)
	for {
		next, waits := p.clock.Next()
		if !waits || next.After(until) {
			p.clock.Advance(until)
			return
		}
		_, err := p.clock.Step(p.t.Context(), p.bot.Work)
		p.check(err)
	}
}

// begin starts a kickoff of Ana and Bo in the channel.
func (p *pier) begin() {
	p.t.Helper()
	p.check(p.ws.Command(p.t.Context(), p.ids["Ana"], p.channel, "/soundings", "start"))
	p.submit("Ana", map[string]blockkit.Value{
		"title":   {Text: "Bicycles on the ferry"},
		"problem": {Text: "Passengers with bicycles cannot tell, before they reach the pier, whether there is room."},
		"people":  {IDs: []string{p.ids["Bo"]}},
	})
	p.pass(5 * time.Minute)
}

// submit fills in the form that somebody has open, sends it, and has no more
// to add where it comes back empty.
func (p *pier) submit(who string, values map[string]blockkit.Value) {
	p.t.Helper()
	v := p.form(who)
	for block, value := range values {
		p.check(p.ws.Type(p.ids[who], v.ID, block, "in", value))
	}
	faults, err := p.ws.Submit(p.t.Context(), p.ids[who], v.ID)
	p.check(err)
	require.Empty(p.t, faults, "the form of %s says", who)
	if after, open := p.ws.TopView(p.ids[who]); open && forAnother(v, after) {
		p.check(p.ws.CloseAll(p.t.Context(), p.ids[who]))
	}
}

func (p *pier) form(who string) fakeslack.View {
	p.t.Helper()
	v, open := p.ws.TopView(p.ids[who])
	require.True(p.t, open, "%s has no form open", who)
	return v
}

// open opens somebody's home tab and reads it.
func (p *pier) open(who string) string {
	p.t.Helper()
	p.check(p.ws.OpenHome(p.t.Context(), p.ids[who]))
	return p.read(who)
}

func (p *pier) read(who string) string {
	p.t.Helper()
	home, ok := p.ws.Home(p.ids[who])
	require.True(p.t, ok, "%s has no home tab", who)
	assert.Empty(p.t, slacktest.Pings("", home.Blocks), "the home tab of %s would notify", who)
	return allText(p.t, home.Blocks)
}

// allText is every text in blocks, with what stands on buttons.
func allText(t *testing.T, blocks any) string {
	t.Helper()
	data, err := json.Marshal(blocks)
	require.NoError(t, err)
	var v any
	require.NoError(t, json.Unmarshal(data, &v))
	var out []string
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case []any:
			for _, inner := range v {
				walk(inner)
			}
		case map[string]any:
			if text, ok := v["text"].(string); ok {
				out = append(out, text)
			}
			for _, key := range []string{"text", "elements", "accessory"} {
				walk(v[key])
			}
		}
	}
	walk(v)
	return strings.Join(out, "")
}

// press presses a button on somebody's home tab; of several of the kind, the
// first.
func (p *pier) press(who, action string) {
	p.t.Helper()
	home, _ := p.ws.Home(p.ids[who])
	for _, e := range blockkit.Elements(home.Blocks) {
		if e.ActionID == action {
			p.check(p.ws.Press(p.t.Context(), p.ids[who], fakeslack.Where{Home: true}, action, e.BlockID, blockkit.Value{}))
			return
		}
	}
	p.t.Fatalf("the home tab of %s has no %s", who, action)
}

func (p *pier) reads(who, text string, want ...string) {
	p.t.Helper()
	for _, w := range want {
		assert.Contains(p.t, text, w, "%s does not read %q, but", who, w)
	}
}

func (p *pier) readsNot(who, text string, not ...string) {
	p.t.Helper()
	for _, w := range not {
		assert.NotContains(p.t, text, w, "%s reads", who)
	}
}

// event hands the bot an event as the platform wraps it.
func (p *pier) event(inner string) {
	p.t.Helper()
	p.check(p.bot.Event(p.t.Context(), fmt.Appendf(nil, `{"type":"event_callback","event_id":"Ev1","team_id":%q,"event":%s}`, p.ws.TeamID(), inner)))
}

// handOver lets Bo lead instead of Ana, by the buttons of her own message.
func (p *pier) handOver() {
	p.t.Helper()
	p.fromDesk("Ana", "Bo")
}

// takeBack lets Ana lead again, opens her home tab, and lets Bo lead once
// more.
func (p *pier) takeBack() {
	p.t.Helper()
	p.fromDesk("Bo", "Ana")
	p.open("Ana")
	p.fromDesk("Ana", "Bo")
}

func (p *pier) fromDesk(from, to string) {
	p.t.Helper()
	p.pass(5 * time.Minute)
	const action = "open/lead.handover"
	for _, m := range p.ws.Messages(p.ws.DM(p.ids[from])) {
		for _, e := range blockkit.Elements(m.Blocks) {
			if e.ActionID != action {
				continue
			}
			at := fakeslack.Where{Channel: m.Channel, TS: m.TS}
			p.check(p.ws.Press(p.t.Context(), p.ids[from], at, action, e.BlockID, blockkit.Value{}))
			p.submit(from, map[string]blockkit.Value{"to": {Option: p.ids[to]}})
			p.pass(5 * time.Minute)
			return
		}
	}
	p.t.Fatalf("%s has no desk", from)
}

// shutting lets the bot's messages to one channel fail, without a word of the
// platform about it.
type shutting struct {
	next http.RoundTripper

	mu            sync.Mutex
	channel, code string
}

func (s *shutting) set(channel, code string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.channel, s.code = channel, code
}

func (s *shutting) RoundTrip(q *http.Request) (*http.Response, error) {
	s.mu.Lock()
	channel, code := s.channel, s.code
	s.mu.Unlock()
	if channel == "" || q.Body == nil || !strings.Contains(q.URL.Path, "/chat.") {
		return s.next.RoundTrip(q)
	}
	data, err := io.ReadAll(q.Body)
	if err != nil {
		return nil, err
	}
	q.Body = io.NopCloser(strings.NewReader(string(data)))
	if values, err := url.ParseQuery(string(data)); err != nil || values.Get("channel") != channel {
		return s.next.RoundTrip(q)
	}
	body := io.NopCloser(strings.NewReader(fmt.Sprintf(`{"ok":false,"error":%q}`, code)))
	return &http.Response{StatusCode: http.StatusOK, Header: http.Header{"Content-Type": {"application/json"}}, Body: body, Request: q}, nil
}

// key names the kickoff of the channel.
func (p *pier) key() journal.Key {
	p.t.Helper()
	keys, err := p.journal.Index.All(p.t.Context(), p.ws.TeamID())
	p.check(err)
	require.NotEmpty(p.t, keys, "no kickoff has begun")
	return keys[0]
}

// pressChannel presses a button in the newest message of the channel that has
// it.
func (p *pier) pressChannel(who, action string) {
	p.t.Helper()
	all := p.ws.Messages(p.channel)
	for i := len(all) - 1; i >= 0; i-- {
		for _, e := range blockkit.Elements(all[i].Blocks) {
			if e.ActionID == action {
				p.check(p.ws.Press(p.t.Context(), p.ids[who], fakeslack.Where{Channel: p.channel, TS: all[i].TS}, action, e.BlockID, blockkit.Value{}))
				return
			}
		}
	}
	p.t.Fatalf("nothing in the channel has %s", action)
}
