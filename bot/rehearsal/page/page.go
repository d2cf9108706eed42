package page

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"

	"soundings/bot/drafts"
	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/blockkit"
	"soundings/bot/fakeslack/wire"
	"soundings/bot/journal"
	"soundings/bot/manifest"
	"soundings/bot/rehearsal"
	"soundings/bot/scenario"
)

//go:embed assets
var assets embed.FS

// Config says what a page is about and where its journal is kept.
type Config struct {
	Scenario *scenario.Scenario // the page may change it; nil: the ferry
	Journal  *journal.Journal
	Logger   *slog.Logger     // default: discards
	Faults   fakeslack.Faults // go wrong from the start; people can change them on the page
	Guest    rehearsal.Guest  // a bot of somebody else, instead of ours
	Drafter  drafts.Drafter   // drafts for whoever asks; nil is off
	Host     string           // the name, if any, under which the page is known beside localhost
}

// A Page is a rehearsal to look at and take part in with a browser.
type Page struct {
	room      *rehearsal.Room
	log       *slog.Logger
	templates *template.Template
	shortcuts map[string][]shortcutItem // by the type that the manifest gives them
	news      *news
	host      string

	mu       sync.Mutex
	notices  map[string]notice            // by user: what happened or went wrong, until somebody acts again
	waits    rehearsal.Waits              // since the last act
	stopped  map[string]map[string]string // by form: what its fields do not take, by block id
	life     context.Context
	endsLife context.CancelFunc
}

// A shortcutItem is an entry of the menu of a message, or of the menu for
// starting something anywhere.
type shortcutItem struct{ Name, ID string }

// New prepares a rehearsal and its page. Close it when done.
func New(c Config) (*Page, error) {
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	if c.Scenario == nil {
		var err error
		if c.Scenario, err = scenario.Ferry(); err != nil {
			return nil, err
		}
	}
	p := &Page{log: c.Logger, host: c.Host, news: newNews(), notices: map[string]notice{}, stopped: map[string]map[string]string{}}
	var err error
	if p.templates, err = pageTemplates(); err != nil {
		return nil, err
	}
	if p.shortcuts, err = manifestShortcuts(); err != nil {
		return nil, err
	}
	p.room, err = rehearsal.NewRoom(rehearsal.PlayConfig{Scenario: c.Scenario, Journal: c.Journal, Logger: c.Logger, Faults: c.Faults, Drafter: c.Drafter,
		Guest: c.Guest, Trace: func(fakeslack.Call) { p.news.tell() }})
	if err != nil {
		return nil, err
	}
	p.life, p.endsLife = context.WithCancel(context.Background())
	return p, nil
}

func pageTemplates() (*template.Template, error) {
	t, err := template.New("page").Funcs(template.FuncMap{"dict": dict, "words": blockkit.Words}).ParseFS(assets, "assets/*.html")
	if err != nil {
		return nil, fmt.Errorf("read the page's templates: %w", err)
	}
	return t, nil
}

// dict hands several values to a template.
func dict(pairs ...any) map[string]any {
	out := map[string]any{}
	for i := 0; i+1 < len(pairs); i += 2 {
		out[fmt.Sprint(pairs[i])] = pairs[i+1]
	}
	return out
}

// manifestShortcuts reads from the app's own manifest what the menus offer.
func manifestShortcuts() (map[string][]shortcutItem, error) {
	data, err := manifest.New(manifest.Config{})
	if err != nil {
		return nil, fmt.Errorf("read the shortcuts: %w", err)
	}
	app, _ := wire.DecodeObject(data)
	out := map[string][]shortcutItem{}
	for _, one := range wire.List(wire.Obj(app, "features"), "shortcuts") {
		o, _ := one.(wire.Object)
		kind := wire.Str(o, "type")
		out[kind] = append(out[kind], shortcutItem{wire.Str(o, "name"), wire.Str(o, "callback_id")})
	}
	return out, nil
}

// Close ends whatever runs, and both servers of the play.
func (p *Page) Close() {
	p.endsLife()
	p.room.Close()
}

// Team is what the page shows.
func (p *Page) Team() *fakeslack.Team { return p.room.Team() }

// Handler serves the page, and beside it everything that the team
// serves: the Web API among it.
func (p *Page) Handler() http.Handler {
	mux := http.NewServeMux()
	assets, err := fs.Sub(assets, "assets")
	if err != nil {
		panic(fmt.Sprintf("page: the embedded assets: %v", err))
	}
	mux.Handle("GET /assets/", http.StripPrefix("/assets/", http.FileServerFS(assets)))
	mux.HandleFunc("GET /{$}", p.serveStart)
	mux.HandleFunc("GET /as/{who}/in/{channel}", p.serve(p.channelPage))
	mux.HandleFunc("GET /as/{who}/in/{channel}/{thread}", p.serve(p.threadPage))
	mux.HandleFunc("GET /as/{who}/home", p.serve(p.homePage))
	mux.HandleFunc("GET /as/{who}/canvas", p.serve(p.canvasPage))
	mux.HandleFunc("GET /as/{who}/news", p.serveNews)
	mux.HandleFunc("POST /as/{who}/act", p.acting(p.act))
	mux.HandleFunc("POST /as/{who}/say", p.acting(p.say))
	mux.HandleFunc("POST /as/{who}/shortcut", p.acting(p.shortcut))
	mux.HandleFunc("POST /as/{who}/time", p.acting(p.moveTime))
	mux.HandleFunc("POST /as/{who}/trouble", p.acting(p.setFaults))
	mux.HandleFunc("POST /as/{who}/share", p.acting(p.share))
	mux.Handle("/", p.room.Team().Handler())
	return p.named(guarded(mux))
}

// named refuses requests for a name that is not the page's. A site elsewhere
// whose name was made to lead here would be of one origin with the page, and
// could act as anyone; it cannot do that with an address in figures.
func (p *Page) named(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := (&url.URL{Host: r.Host}).Hostname()
		if net.ParseIP(host) == nil && host != "localhost" && (host == "" || !strings.EqualFold(host, p.host)) {
			http.Error(w, "The rehearsal is not known under this name. Open the address that it printed when it was started, "+
				"or start it with that name in --listen.", http.StatusMisdirectedRequest)
			return
		}
		h.ServeHTTP(w, r)
	})
}

// guarded keeps other sites' pages from acting here, and the page from
// fetching anything from elsewhere.
func guarded(h http.Handler) http.Handler {
	const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; " +
		"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
	return http.NewCrossOriginProtection().Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		w.Header().Set("X-Content-Type-Options", "nosniff")
		w.Header().Set("Referrer-Policy", "no-referrer")
		h.ServeHTTP(w, r)
	}))
}

// serveStart opens the channel as the lead.
func (p *Page) serveStart(w http.ResponseWriter, r *http.Request) {
	lead, _ := p.room.Team().User(p.room.People()[0])
	http.Redirect(w, r, "/as/"+lead.Name+"/in/"+p.room.Channel(), http.StatusFound)
}
