package fakeslack

import (
	"io"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"soundings/bot/fakeslack/wire"
)

// heaviestBody is how many bytes of one request are read: more than any file
// or view that a bot of ours sends.
const heaviestBody = 32 << 20

// A reply is the body of an answer, or a part of one.
type reply = map[string]any

// webAPI serves the bot's calls.
type webAPI struct {
	*core
	methods map[string]method
	install *App
	replies *replies
	uploads *uploads
	sockets *sockets
	faults  *FaultCounter
	rates   rateBook

	// calls puts the bot's calls into one order, which is also the order in
	// which the trace hook sees them. It is taken before mu, never after.
	calls  sync.Mutex
	onCall func(Call)
}

// A method is one Web API method. run is called with the team locked.
type method struct {
	tier   tier
	scopes []string // any one of them will do; none means that no scope is asked for
	token  string   // "xapp-" where only an app-level token will do; noToken where none is asked for
	run    func(args) (reply, error)
}

// Handler serves the Web API under /api/, and the addresses that it hands
// out: /upload/ takes files, /files/ gives them back, /response/ takes
// answers to interactions, /link/ is where sockets are opened, and
// /oauth/v2/authorize is where a person lets the app in. Tools find their way
// from /room.json.
//
// Any bot token is taken as that of the bot, any app-level token as the app's,
// until the app was installed or taken away here: from then on the token that
// was given last is the only one.
func (t *Team) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("/api/{method}", t.api.withFaults(t.api.serveMethod))
	mux.HandleFunc("POST /upload/{file}", t.api.withFaults(t.api.uploads.serveUpload))
	mux.HandleFunc("GET /files/{file}/{name}", t.api.uploads.serveFile)
	mux.HandleFunc("POST /response/{id}", t.api.withFaults(t.api.serveResponse))
	mux.HandleFunc("GET /link/", t.api.serveSocket)
	mux.HandleFunc("GET "+authorizePath, t.App.serveAuthorize)
	mux.HandleFunc("POST "+authorizePath, t.App.serveConsent)
	mux.HandleFunc("GET /room/app", t.App.serveApp)
	mux.HandleFunc("POST /room/uninstall", t.App.serveUninstall)
	mux.HandleFunc("GET /room.json", t.tools.serveRoom)
	mux.HandleFunc("POST /room/trigger", serveTool(t.tools.trigger))
	mux.HandleFunc("POST /room/say", serveTool(t.tools.say))
	return mux
}

func (api *webAPI) serveMethod(rw http.ResponseWriter, r *http.Request) {
	name := r.PathValue("method")
	a, err := readArgs(rw, r)
	if err != nil {
		writeJSON(rw, http.StatusOK, wire.Failed(err))
		return
	}
	api.learnURL(a.base)

	api.calls.Lock()
	defer api.calls.Unlock()
	status, out, wait := api.call(name, a)
	if wait > 0 {
		rw.Header().Set("Retry-After", wholeSeconds(wait))
	}
	api.trace(name, a.values, status, out)
	writeJSON(rw, status, out)
}

// call runs one method and says what to answer. wait is not zero when the bot
// has called too often.
func (api *webAPI) call(name string, a args) (status int, out reply, wait time.Duration) {
	api.mu.Lock()
	defer api.mu.Unlock()
	m, known := api.methods[name]
	if !known {
		return http.StatusOK, reply{"ok": false, "error": "unknown_method", "req_method": name}, 0
	}
	if err := api.admit(m, a); err != nil {
		return http.StatusOK, wire.Failed(err), 0
	}
	if wait := api.tooOften(name, m.tier, a); wait > 0 {
		return http.StatusTooManyRequests, reply{"ok": false, "error": "ratelimited"}, wait
	}
	out, err := m.run(a)
	if err != nil {
		return http.StatusOK, wire.Failed(err), 0
	}
	return http.StatusOK, wire.Succeeded(out), 0
}

// admit checks the token and the scopes that it carries.
func (api *webAPI) admit(m method, a args) error {
	isApp := strings.HasPrefix(a.token, "xapp-")
	if m.token == noToken {
		return nil
	}
	if code := api.install.refuses(a.token); !isApp && code != "" {
		return wire.Refuse(code)
	}
	switch {
	case a.token == "":
		return wire.Refuse("not_authed")
	case isApp != (m.token == "xapp-"):
		return wire.Refuse("not_allowed_token_type")
	case api.cfg.Scopes == nil || len(m.scopes) == 0 || api.granted(m.scopes...):
		return nil
	}
	return &wire.Refusal{Code: "missing_scope", More: reply{
		"needed": strings.Join(m.scopes, ","), "provided": strings.Join(api.cfg.Scopes, ","),
	}}
}

// granted reports whether the bot was given any of these scopes by name.
func (c *core) granted(scopes ...string) bool {
	return slices.ContainsFunc(scopes, func(s string) bool { return slices.Contains(c.cfg.Scopes, s) })
}

// learnURL keeps the address that the bot called, unless one was set.
func (api *webAPI) learnURL(base string) {
	api.mu.Lock()
	defer api.mu.Unlock()
	if api.baseURL == "" {
		api.baseURL = base
	}
}

func writeJSON(rw http.ResponseWriter, status int, v any) {
	rw.Header().Set("Content-Type", "application/json; charset=utf-8")
	rw.WriteHeader(status)
	_, _ = rw.Write(wire.Encode(v)) // the reader may have gone
}

func readBody(rw http.ResponseWriter, r *http.Request) ([]byte, error) {
	return io.ReadAll(http.MaxBytesReader(rw, r.Body, heaviestBody))
}

// ResponseURL stands for the method of a Call where the bot answers a press
// at the address that came with it. That is no Web API call, but is seen like
// one.
const ResponseURL = "response_url"

// A Call is one Web API call of the bot, or an answer to a press, and what
// came of it. The bytes of uploaded files are none.
type Call struct {
	At     time.Time      `json:"at"`
	Method string         `json:"method"`
	Args   map[string]any `json:"args"` // blocks, views and metadata decoded; never the token
	Status int            `json:"status"`
	OK     bool           `json:"ok"`
	Error  string         `json:"error,omitempty"`
}

// OnCall hands every call to see, in the order in which they took effect. It
// replaces the one given before; nil stops it. see may read the team but
// must not wait for the bot: the bot's calls wait for see.
func (t *Team) OnCall(see func(Call)) {
	t.api.calls.Lock()
	defer t.api.calls.Unlock()
	t.api.onCall = see
}

// trace is called with calls held.
func (api *webAPI) trace(name string, values map[string]any, status int, out reply) {
	code := wire.Str(out, "error")
	if code != "" {
		api.cfg.Logger.Debug("web api call refused", "method", name, "status", status, "error", code)
	}
	if api.onCall == nil {
		return
	}
	api.onCall(Call{At: api.Now(), Method: name, Args: values, Status: status, OK: wire.Flag(out, "ok"), Error: code})
}
