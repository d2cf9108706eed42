package fakeslack

import (
	"fmt"
	"log/slog"
	"net/http"
	"sync"
	"time"
)

// Config says what a workspace is like. Only SigningSecret and BotURL are
// needed to deliver anything; every other zero value is a working default.
type Config struct {
	Clock         func() time.Time // what the workspace takes for now; nil reads the machine's clock
	SigningSecret string           // signs every delivery, as text
	Team          string           // the workspace's name; default "Rehearsal"
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
	// Clock. It is for a workspace whose Clock stands still while real clients
	// wait.
	Patience func() time.Time

	// Faults go wrong from the start; SetFaults changes them. Pause lets the
	// time pass that something slow takes; nil waits in real time.
	Faults Faults
	Pause  func(time.Duration)

	ClientID     string // of the app, for installs; empty takes any
	ClientSecret string // likewise

	SameApp *Team // another team that has the same app: what goes out goes through its sockets

	Scopes     []string // what the bot was granted; nil means whatever it needs
	NoCanvases bool     // a workplace that has switched canvases off
	FreePlan   bool     // one canvas a channel, none on their own
}

// A Team holds everything the platform would know. All its methods may
// be called at the same time by people, tests and the bot.
//
// No lock is held while the bot is being asked, so the bot may call back.
type Team struct {
	cfg       Config
	methods   map[string]method
	http      *httpTransport
	sockets   *sockets
	faults    *faultCounter
	transport transport // what goes to the bot goes this way

	// OnAck is handed every acknowledgement that says something. It is set
	// before anybody acts, and must not ask the team for anything.
	OnAck func(Ack)

	// calls puts the bot's calls into one order, which is also the order in
	// which the trace hook sees them. It is taken before mu, never after.
	calls  sync.Mutex
	onCall func(Call)

	mu         sync.Mutex
	counters   map[string]int
	lastTS     int64 // microseconds; the newest timestamp given out
	baseURL    string
	team       string
	app        string
	bot        string // the bot's user id
	botID      string // the bot's B… id
	users      map[string]*User
	userIDs    []string // in the order of joining
	channels   map[string]*channel
	channelIDs []string
	views      map[string]*view   // open modals and homes, by id
	stacks     map[string][]*view // open modals by user, root first
	homes      map[string]*view   // by user
	triggers   map[string]*trigger
	replyURLs  map[string]*replyURL
	files      map[string]*File
	fileIDs    []string
	canvases   map[string]*Canvas
	canvasIDs  []string
	rates      rateBook
	late       []*lateEvent // events the bot did not take
	consent    consent
}

// NewTeam returns a workspace with the bot installed and nobody in it.
func NewTeam(c Config) *Team {
	w := &Team{
		cfg:       withDefaults(c),
		methods:   webMethods(),
		counters:  map[string]int{},
		users:     map[string]*User{},
		channels:  map[string]*channel{},
		views:     map[string]*view{},
		stacks:    map[string][]*view{},
		homes:     map[string]*view{},
		triggers:  map[string]*trigger{},
		replyURLs: map[string]*replyURL{},
		files:     map[string]*File{},
		canvases:  map[string]*Canvas{},
		rates:     rateBook{},
	}
	w.baseURL = c.URL
	w.team, w.app, w.botID = w.nextID("T"), w.nextID("A"), w.nextID("B")
	if c.TeamID != "" {
		w.team = c.TeamID
	}
	w.connect()
	w.bot = w.AddUser(User{Name: w.cfg.BotName, RealName: w.cfg.BotName, Zone: "Etc/UTC", Bot: true})
	return w
}

// connect lays the ways to the bot.
func (w *Team) connect() {
	w.faults = newFaultCounter(w.cfg.Faults)
	w.http = &httpTransport{
		client: w.cfg.HTTPClient, secret: w.cfg.SigningSecret, clock: w.cfg.Clock, within: w.cfg.AckWithin, botURL: w.cfg.BotURL,
	}
	w.sockets = newSockets(w.cfg, w.app, w.faults)
	if w.cfg.SameApp != nil {
		w.sockets = w.cfg.SameApp.sockets
	}
	w.transport = &faultyTransport{next: &socketOrHTTP{http: w.http, sockets: w.sockets}, faults: w.faults, pause: w.pause}
}

func withDefaults(c Config) Config {
	if c.Clock == nil {
		c.Clock = time.Now
	}
	if c.Patience == nil {
		c.Patience = c.Clock
	}
	if c.Team == "" {
		c.Team = "Rehearsal"
	}
	if c.BotName == "" {
		c.BotName = "soundings"
	}
	if c.AckWithin <= 0 {
		c.AckWithin = AckWithin
	}
	if c.HTTPClient == nil {
		c.HTTPClient = &http.Client{}
	}
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	return c
}

// SetBotURL says where the bot listens from now on.
func (w *Team) SetBotURL(base string) { w.http.moveTo(base) }

// SetURL says under which base address Handler is served: response URLs are
// made from it.
func (w *Team) SetURL(base string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.baseURL = base
}

// URL is the base address that SetURL was given, or that the first call went
// to.
func (w *Team) URL() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.baseURL
}

// TeamID is the workspace's id.
func (w *Team) TeamID() string { return w.team }

// BotUser is the user id of the bot.
func (w *Team) BotUser() string { return w.bot }

// Now reads the clock that was handed in.
func (w *Team) Now() time.Time { return w.cfg.Clock() }

// nextID counts up the ids of one kind: U00000001, U00000002, …
func (w *Team) nextID(prefix string) string {
	w.counters[prefix]++
	return fmt.Sprintf("%s%08d", prefix, w.counters[prefix])
}

// nextTS gives out a timestamp that nothing else in the workspace has: ten
// digits of seconds and six of microseconds. Where the clock stands still, or
// went back, it is one microsecond after the one before.
func (w *Team) nextTS() string {
	micro := max(w.Now().UnixMicro(), w.lastTS+1)
	w.lastTS = micro
	return fmt.Sprintf("%010d.%06d", micro/1e6, micro%1e6)
}
