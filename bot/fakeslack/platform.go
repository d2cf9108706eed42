package fakeslack

import (
	"bytes"
	"io"
	"net/http"
	"net/url"
	"strings"
)

// A Server is several workspaces behind one address, as an app meets them
// that is installed in more than one: which workspace a call is for shows by
// its token, and all of them speak through the sockets of the one app.
//
// Ids are counted in each workspace from one, so people and channels of
// different workspaces have the same ids. On the platform itself that is rare,
// and it is what an app that keeps teams apart must not mind.
type Server struct {
	workspaces []*Team
}

// NewServer puts workspaces behind one address. Nothing may have connected
// to them yet. Their team ids must differ.
func NewServer(workspaces ...*Team) *Server {
	for _, w := range workspaces {
		w.below = teamPath(w)
	}
	for _, w := range workspaces[1:] {
		w.sockets = workspaces[0].sockets
		w.courier = &troubledCourier{next: &waysOut{http: w.http, sockets: w.sockets}, troubles: w.troubles, pause: w.pause}
	}
	return &Server{workspaces}
}

// SetURL says under which address Handler is served.
func (p *Server) SetURL(base string) {
	for _, w := range p.workspaces {
		w.SetURL(base + w.below)
	}
}

// teamPath begins the addresses that a workspace hands out.
func teamPath(w *Team) string { return "/team/" + w.team }

// Handler serves what Team.Handler does, and below /team/ID/ what belongs
// to one workspace.
func (p *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, w := range p.workspaces {
		mux.Handle(w.below+"/", http.StripPrefix(w.below, w.Handler()))
	}
	mux.HandleFunc("/api/{method}", p.serveMethod)
	mux.HandleFunc("GET "+authorizePath, p.serveAuthorize)
	mux.HandleFunc("POST "+authorizePath, p.serveConsent)
	mux.Handle("/", p.workspaces[0].Handler()) // sockets, which all share
	return mux
}

// serveMethod hands a call to the workspace whose token it carries. One that
// carries none, or one that nobody gave, goes to the first.
func (p *Server) serveMethod(rw http.ResponseWriter, r *http.Request) {
	body, err := readBody(rw, r)
	if err != nil {
		http.Error(rw, "the call is too large", http.StatusRequestEntityTooLarge)
		return
	}
	r.Body = io.NopCloser(bytes.NewReader(body))
	a, err := readArgs(rw, r)
	r.Body = io.NopCloser(bytes.NewReader(body))
	to := p.workspaces[0]
	if err == nil {
		to = p.of(a)
	}
	to.Handler().ServeHTTP(rw, r)
}

func (p *Server) of(a args) *Team {
	for _, w := range p.workspaces {
		if w.knows(a) {
			return w
		}
	}
	return p.workspaces[0]
}

// knows reports whether a call is for this workspace: by a token that it has
// given at any time, or by a code.
func (w *Team) knows(a args) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	_, code := w.consent.codes[a.str("code")]
	return code || a.token != "" && (a.token == w.consent.token || w.consent.revoked[a.token])
}

// serveAuthorize lets a person choose the workspace, as the platform does at
// the top of its page.
func (p *Server) serveAuthorize(rw http.ResponseWriter, r *http.Request) {
	c := consentShown{Title: "Let " + p.workspaces[0].cfg.BotName + " in?", Lines: []string{"In the workspace that you choose it may then use:"},
		Scopes: strings.Split(r.URL.Query().Get("scope"), ","), Action: authorizePath + "?" + r.URL.RawQuery}
	for _, w := range p.workspaces {
		c.Buttons = append(c.Buttons, consentButton{w.team, "Allow in " + w.cfg.Team, true})
	}
	c.Buttons = append(c.Buttons, consentButton{"", "Cancel", false})
	showConsent(rw, http.StatusOK, c)
}

func (p *Server) serveConsent(rw http.ResponseWriter, r *http.Request) {
	for _, w := range p.workspaces {
		if r.PostFormValue("answer") == w.team {
			w.serveConsent(rw, r)
			return
		}
	}
	p.workspaces[0].serveConsent(rw, r) // it says no
}

// Consent is what a browser does at the authorize address: it reads the page,
// presses the button of a team, or Cancel for "", and returns where it is sent.
func Consent(client *http.Client, authorize, team string) (back *url.URL, err error) {
	page, err := client.Get(authorize)
	if err != nil {
		return nil, err
	}
	page.Body.Close()
	answer, err := client.PostForm(authorize, url.Values{"answer": {team}})
	if err != nil {
		return nil, err
	}
	answer.Body.Close()
	return answer.Location()
}
