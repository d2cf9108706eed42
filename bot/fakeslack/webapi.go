package fakeslack

import (
	"io"
	"net/http"
	"strings"
	"time"

	"soundings/bot/fakeslack/wire"
)

// heaviestBody is how many bytes of one request are read: more than any file
// or view that a bot of ours sends.
const heaviestBody = 32 << 20

// A reply is the body of an answer, or a part of one.
type reply = map[string]any

// A method is one Web API method. run is called with the workspace locked.
type method struct {
	tier   tier
	scopes []string // any one of them will do; none means that no scope is asked for
	token  string   // "xapp-" where only an app-level token will do; noToken where none is asked for
	run    func(*Team, args) (reply, error)
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
func (w *Team) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("/api/{method}", w.withFaults(w.serveMethod))
	mux.HandleFunc("POST /upload/{file}", w.withFaults(w.serveUpload))
	mux.HandleFunc("GET /files/{file}/{name}", w.serveFile)
	mux.HandleFunc("POST /response/{id}", w.withFaults(w.serveResponse))
	mux.HandleFunc("GET /link/", w.serveSocket)
	mux.HandleFunc("GET "+authorizePath, w.serveAuthorize)
	mux.HandleFunc("POST "+authorizePath, w.serveConsent)
	mux.HandleFunc("GET /room/app", w.serveApp)
	mux.HandleFunc("POST /room/uninstall", w.serveUninstall)
	mux.HandleFunc("GET /room.json", w.serveRoom)
	mux.HandleFunc("POST /room/trigger", w.serveTrigger)
	mux.HandleFunc("POST /room/say", w.serveSay)
	return mux
}

func (w *Team) serveMethod(rw http.ResponseWriter, r *http.Request) {
	name := r.PathValue("method")
	a, err := readArgs(rw, r)
	if err != nil {
		writeJSON(rw, http.StatusOK, wire.Failed(err))
		return
	}
	w.learnURL(a.base)

	w.calls.Lock()
	defer w.calls.Unlock()
	status, out, wait := w.call(name, a)
	if wait > 0 {
		rw.Header().Set("Retry-After", wholeSeconds(wait))
	}
	w.trace(name, a.values, status, out)
	writeJSON(rw, status, out)
}

// call runs one method and says what to answer. wait is not zero when the bot
// has called too often.
func (w *Team) call(name string, a args) (status int, out reply, wait time.Duration) {
	w.mu.Lock()
	defer w.mu.Unlock()
	m, known := w.methods[name]
	if !known {
		return http.StatusOK, reply{"ok": false, "error": "unknown_method", "req_method": name}, 0
	}
	if err := w.admit(m, a); err != nil {
		return http.StatusOK, wire.Failed(err), 0
	}
	if wait := w.tooOften(name, m.tier, a); wait > 0 {
		return http.StatusTooManyRequests, reply{"ok": false, "error": "ratelimited"}, wait
	}
	out, err := m.run(w, a)
	if err != nil {
		return http.StatusOK, wire.Failed(err), 0
	}
	return http.StatusOK, wire.Succeeded(out), 0
}

// admit checks the token and the scopes that it carries.
func (w *Team) admit(m method, a args) error {
	isApp := strings.HasPrefix(a.token, "xapp-")
	if m.token == noToken {
		return nil
	}
	if code := w.consent.refuses(a.token); !isApp && code != "" {
		return wire.Refuse(code)
	}
	switch {
	case a.token == "":
		return wire.Refuse("not_authed")
	case isApp != (m.token == "xapp-"):
		return wire.Refuse("not_allowed_token_type")
	case w.cfg.Scopes == nil || len(m.scopes) == 0 || w.granted(m.scopes...):
		return nil
	}
	return &wire.Refusal{Code: "missing_scope", More: reply{
		"needed": strings.Join(m.scopes, ","), "provided": strings.Join(w.cfg.Scopes, ","),
	}}
}

// granted reports whether the bot was given any of these scopes by name.
func (w *Team) granted(any ...string) bool {
	for _, want := range any {
		for _, have := range w.cfg.Scopes {
			if want == have {
				return true
			}
		}
	}
	return false
}

// learnURL keeps the address that the bot called, unless one was set.
func (w *Team) learnURL(base string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.baseURL == "" {
		w.baseURL = base
	}
}

func writeJSON(rw http.ResponseWriter, status int, v any) {
	rw.Header().Set("Content-Type", "application/json; charset=utf-8")
	rw.WriteHeader(status)
	_, _ = rw.Write(wire.Encode(v)) // a client that has gone is its own problem
}

func readBody(rw http.ResponseWriter, r *http.Request) ([]byte, error) {
	return io.ReadAll(http.MaxBytesReader(rw, r.Body, heaviestBody))
}
