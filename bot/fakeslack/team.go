package fakeslack

import (
	"cmp"
	"fmt"
	"log/slog"
	"net/http"
	"sync"
	"time"
)

// Config says what a team is like. Only SigningSecret and BotURL are
// needed to deliver anything; every other zero value is a working default.
type Config struct {
	Clock         func() time.Time // what the team takes for now; nil reads the machine's clock
	SigningSecret string           // signs every delivery, as text
	Team          string           // the team's name; default "Rehearsal"
	TeamID        string           // default T00000001; teams behind one address need different ones
	BotName       string           // the bot's handle; default "soundings"
	BotURL        string           // base address of the bot, without /slack/…
	URL           string           // base address of Handler; learnt from the first call when empty
	HTTPClient    *http.Client     // carries the deliveries; nil takes a plain one
	Logger        *slog.Logger     // never sees what people write; nil is silent
	EnforceRates  bool             // answer 429 as the method's tier says
	NoSocketMode  bool             // an app whose Socket Mode is switched off
	AckWithin     time.Duration    // how long the bot has to answer, in real time; default 3 s

	// Patience is the clock by which rates, storms and redeliveries go; nil is
	// Clock. It is for a team whose Clock stands still while real clients
	// wait.
	Patience func() time.Time

	// Faults go wrong from the start; Team.Faults changes them. Pause lets the
	// time pass that something slow takes; nil waits in real time.
	Faults Faults
	Pause  func(time.Duration)

	ClientID     string // of the app, for installs; empty takes any
	ClientSecret string // likewise

	SameApp *Team // another team that has the same app: what goes out goes through its sockets

	Scopes     []string // what the bot was granted; nil means whatever it needs
	NoCanvases bool     // a team that has switched canvases off
	FreePlan   bool     // one canvas a channel, none on their own
}

// A Team is one team of the platform: what it knows, and the ways in and out.
// Its methods and those of its Client lock it, so they may be called at the
// same time by people, tests and the bot; the parts it is made of are called
// with the lock held.
//
// No lock is held while the bot is being asked, so the bot may call back.
type Team struct {
	*core
	Client *Client       // what people do and see
	Outbox *Outbox       // what goes to the bot
	App    *App          // whether the app is installed
	Faults *FaultCounter // what goes wrong

	dir      *directory
	files    *files
	canvases *canvases
	api      *webAPI
	tools    *tools
	http     *httpTransport
	sockets  *sockets
}

// A core is what every part of a team shares: its settings, its lock, its
// clock, its ids and the ids that were given out.
type core struct {
	cfg Config

	mu       sync.Mutex
	counters map[string]int
	lastTS   int64 // microseconds; the newest timestamp given out
	baseURL  string
	team     string
	app      string
	bot      string // the bot's user id
	botID    string // the bot's B… id
}

// NewTeam returns a team with the bot installed and nobody in it.
func NewTeam(c Config) *Team {
	shared := &core{cfg: withDefaults(c), counters: map[string]int{}, baseURL: c.URL}
	shared.team, shared.app, shared.botID = shared.nextID("T"), shared.nextID("A"), shared.nextID("B")
	if c.TeamID != "" {
		shared.team = c.TeamID
	}
	t := &Team{core: shared, Faults: newFaultCounter(shared.cfg.Faults)}
	t.connect()
	t.dir = newDirectory(shared)
	t.files = &files{core: shared, byID: map[string]*File{}}
	t.canvases = &canvases{core: shared, dir: t.dir, byID: map[string]*Canvas{}}
	said := &messages{core: shared, dir: t.dir, files: t.files}
	shown := newViews(shared, t.dir, t.files)
	answers := &replies{core: shared, dir: t.dir, messages: said, urls: map[string]*replyURL{}}
	t.Client = &Client{core: shared, dir: t.dir, messages: said, views: shown, replies: answers, outbox: t.Outbox}
	t.App = &App{core: shared, dir: t.dir, outbox: t.Outbox, codes: map[string]grant{}, revoked: map[string]bool{}}
	t.tools = &tools{core: shared, dir: t.dir, client: t.Client, views: shown, outbox: t.Outbox}
	t.api = &webAPI{core: shared, install: t.App, replies: answers, sockets: t.sockets, faults: t.Faults, rates: rateBook{calls: map[string][]time.Time{}, posts: map[string]*bucket{}}}
	t.api.uploads = &uploads{core: shared, dir: t.dir, files: t.files, messages: said}
	t.api.methods = t.api.table(t.dir, said, shown, t.canvases)
	t.bot = t.AddUser(User{Name: shared.cfg.BotName, RealName: shared.cfg.BotName, Zone: "Etc/UTC", Bot: true})
	return t
}

// connect makes the two ways to the bot, by HTTP and by socket.
func (t *Team) connect() {
	t.http = &httpTransport{
		client: t.cfg.HTTPClient, secret: t.cfg.SigningSecret, clock: t.cfg.Clock, within: t.cfg.AckWithin, botURL: t.cfg.BotURL,
	}
	t.sockets = newSockets(t.cfg, t.app, t.Faults)
	if t.cfg.SameApp != nil {
		t.sockets = t.cfg.SameApp.sockets
	}
	t.Outbox = &Outbox{core: t.core, faults: t.Faults, transport: &faultyTransport{
		next: &socketOrHTTP{http: t.http, sockets: t.sockets}, faults: t.Faults, pause: t.pause,
	}}
}

func withDefaults(c Config) Config {
	if c.Clock == nil {
		c.Clock = time.Now
	}
	if c.Patience == nil {
		c.Patience = c.Clock
	}
	c.Team, c.BotName = cmp.Or(c.Team, "Rehearsal"), cmp.Or(c.BotName, "soundings")
	if c.AckWithin <= 0 {
		c.AckWithin = AckWithin
	}
	// Whoever closes the idle connections of the default transport, as each httptest.Server
	// does at its end, cuts a delivery of another team that goes by it.
	c.HTTPClient = cmp.Or(c.HTTPClient, &http.Client{Transport: http.DefaultTransport.(*http.Transport).Clone()})
	c.Logger = cmp.Or(c.Logger, slog.New(slog.DiscardHandler))
	return c
}

// SetBotURL says where the bot listens from now on.
func (t *Team) SetBotURL(base string) { t.http.moveTo(base) }

// SetURL says under which base address Handler is served: response URLs are
// made from it.
func (c *core) SetURL(base string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.baseURL = base
}

// URL is the base address that SetURL was given, or that the first call went
// to.
func (c *core) URL() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.baseURL
}

// TeamID is the team's id.
func (c *core) TeamID() string { return c.team }

// BotUser is the user id of the bot.
func (c *core) BotUser() string { return c.bot }

// Now reads the clock that was handed in.
func (c *core) Now() time.Time { return c.cfg.Clock() }

// nextID counts up the ids of one kind: U00000001, U00000002, …
func (c *core) nextID(prefix string) string {
	c.counters[prefix]++
	return fmt.Sprintf("%s%08d", prefix, c.counters[prefix])
}

// nextTS gives out a timestamp that nothing else in the team has: ten
// digits of seconds and six of microseconds. Where the clock stands still, or
// went back, it is one microsecond after the one before.
func (c *core) nextTS() string {
	micro := max(c.Now().UnixMicro(), c.lastTS+1)
	c.lastTS = micro
	return fmt.Sprintf("%010d.%06d", micro/1e6, micro%1e6)
}
