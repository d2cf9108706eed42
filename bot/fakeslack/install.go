package fakeslack

import (
	"context"
	_ "embed"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strings"
	"time"

	"soundings/bot/fakeslack/wire"
)

// The platform's part in an install. Sources: its pages on installing with
// OAuth and on oauth.v2.access, app_uninstalled and tokens_revoked.

const (
	authorizePath = "/oauth/v2/authorize"
	noToken       = "none"           // a method that asks for no token
	codeLife      = 10 * time.Minute // of a code; the platform's own figure
)

// An App is the bot's app in the team: the page that lets it in, by which token
// it is known, and what takes it away. Until somebody installs it by hand, any
// token will do.
type App struct {
	*core
	dir    *directory
	outbox *Outbox

	codes   map[string]grant
	token   string          // the one that is good; empty where any is, or none
	revoked map[string]bool // those that were good
	gone    bool            // taken away
	number  int             // of codes and tokens
}

// A grant is what a code stands for.
type grant struct {
	scopes   []string
	redirect string
	until    time.Time
	spent    bool
}

// refuses is the platform's word for a bot token that it does not take.
func (w *App) refuses(token string) string {
	switch {
	case token == "":
		return "not_authed"
	case w.gone, w.revoked[token]:
		return "account_inactive" // what a team answers that has taken the app away
	case w.token != "" && token != w.token:
		return "invalid_auth"
	}
	return ""
}

// next counts up what must not be guessed elsewhere; here the same run has to
// give the same bytes.
func (w *App) next(kind string) string {
	w.number++
	return fmt.Sprintf("%s-%s-%d", kind, w.team, w.number)
}

// Authorize lets the app in as a person does who presses the button: query is
// what the app asked for. It returns where the browser goes next.
func (w *App) Authorize(query url.Values, allow bool) (back string, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	to, err := url.Parse(query.Get("redirect_uri"))
	switch {
	case w.cfg.ClientID != "" && query.Get("client_id") != w.cfg.ClientID:
		return "", wire.Refuse("invalid_client_id")
	case err != nil || to.Host == "":
		return "", wire.Refuse("bad_redirect_uri")
	case query.Get("scope") == "":
		return "", wire.Refuse("invalid_scope")
	}
	answer := to.Query()
	answer.Set("state", query.Get("state"))
	if !allow {
		answer.Set("error", "access_denied")
	} else {
		code := w.next("code")
		w.codes[code] = grant{scopes: strings.Split(query.Get("scope"), ","), redirect: query.Get("redirect_uri"), until: w.Now().Add(codeLife)}
		answer.Set("code", code)
	}
	to.RawQuery = answer.Encode()
	return to.String(), nil
}

// oauthAccess exchanges a code for a bot token.
func (w *App) oauthAccess(a args) (reply, error) {
	g, known := w.codes[a.str("code")]
	switch {
	case w.cfg.ClientID != "" && a.str("client_id") != w.cfg.ClientID:
		return nil, wire.Refuse("invalid_client_id")
	case w.cfg.ClientSecret != "" && a.str("client_secret") != w.cfg.ClientSecret:
		return nil, wire.Refuse("bad_client_secret")
	case !known:
		return nil, wire.Refuse("invalid_code")
	case g.spent:
		return nil, wire.Refuse("code_already_used")
	case w.Now().After(g.until):
		return nil, wire.Refuse("code_expired")
	case a.str("redirect_uri") != g.redirect:
		return nil, wire.Refuse("bad_redirect_uri")
	}
	g.spent = true
	w.codes[a.str("code")] = g
	if w.token == "" || w.gone { // installed again, the app keeps its token
		w.token, w.gone = w.next("xoxb"), false
	}
	return reply{
		"access_token": w.token, "token_type": "bot", "scope": strings.Join(g.scopes, ","), "bot_user_id": w.bot, "app_id": w.app,
		"team": reply{"id": w.team, "name": w.cfg.Team}, "enterprise": nil, "is_enterprise_install": false,
		"authed_user": reply{"id": w.dir.firstPerson()},
	}, nil
}

func (w *directory) firstPerson() string {
	for _, id := range w.userIDs {
		if !w.users[id].Bot {
			return id
		}
	}
	return ""
}

// Uninstall takes the app away, as an administrator does: its token is dead at
// once, and the app hears of it. The platform promises no order of the two
// events; this is the less convenient one.
func (w *App) Uninstall(ctx context.Context) error {
	w.mu.Lock()
	if w.token != "" {
		w.revoked[w.token] = true
	}
	w.token, w.gone = "", true
	events := []delivery{
		w.outbox.event(reply{"type": "tokens_revoked", "tokens": reply{"oauth": []string{}, "bot": []string{w.bot}}}, false),
		w.outbox.event(reply{"type": "app_uninstalled"}, false),
	}
	w.mu.Unlock()
	return w.outbox.send(ctx, events...)
}

// An Installation is how the app stands in a team.
type Installation struct {
	Token string // given last; empty before the first install and after the app was taken away
	Gone  bool   // the app was taken away
}

// Installation says how the app stands.
func (w *App) Installation() Installation {
	w.mu.Lock()
	defer w.mu.Unlock()
	return Installation{Token: w.token, Gone: w.gone}
}

//go:embed consent.html
var consentHTML string

// consentPage shows what the platform's own page does: who asks, for what, and
// two buttons.
var consentPage = template.Must(template.New("consent").Parse(consentHTML))

type consentButton struct {
	Value, Label string
	Go           bool
}

type consentShown struct {
	Title, Action string
	Lines, Scopes []string
	Buttons       []consentButton
}

func showConsent(rw http.ResponseWriter, status int, c consentShown) {
	rw.Header().Set("Content-Type", "text/html; charset=utf-8")
	// Of its own, since from here a form leads to the app, which is elsewhere.
	rw.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; frame-ancestors 'none'")
	rw.WriteHeader(status)
	_ = consentPage.Execute(rw, c) // whoever has gone reads nothing
}

// serveAuthorize asks whether the app may come in.
func (w *App) serveAuthorize(rw http.ResponseWriter, r *http.Request) {
	showConsent(rw, http.StatusOK, consentShown{
		Title: "Let " + w.cfg.BotName + " into " + w.cfg.Team + "?", Lines: []string{"In this workspace it may then use:"},
		Scopes: strings.Split(r.URL.Query().Get("scope"), ","), Action: authorizePath + "?" + r.URL.RawQuery,
		Buttons: []consentButton{{w.team, "Allow", true}, {"", "Cancel", false}},
	})
}

// serveConsent takes the answer and sends the browser back to the app.
func (w *App) serveConsent(rw http.ResponseWriter, r *http.Request) {
	back, err := w.Authorize(r.URL.Query(), r.PostFormValue("answer") == w.team)
	if err != nil {
		showConsent(rw, http.StatusBadRequest, consentShown{Title: "Something went wrong", Lines: []string{"The app asked for something that it may not: " + err.Error() + "."}})
		return
	}
	http.Redirect(rw, r, back, http.StatusFound)
}

// serveApp shows whether the app is here, with the lever to take it away.
func (w *App) serveApp(rw http.ResponseWriter, _ *http.Request) {
	c := consentShown{Title: w.cfg.BotName + " in " + w.cfg.Team, Lines: []string{"The app is installed."},
		Action: "/room/uninstall", Buttons: []consentButton{{"yes", "Take It Away", true}}}
	if w.Installation().Gone {
		c.Lines, c.Action = []string{"The app was taken away. Open the install page of the bot to put it back."}, ""
	}
	showConsent(rw, http.StatusOK, c)
}

// serveUninstall is the lever. The page that a browser gets says how it went.
func (w *App) serveUninstall(rw http.ResponseWriter, r *http.Request) {
	if err := w.Uninstall(context.WithoutCancel(r.Context())); err != nil {
		w.cfg.Logger.Debug("the app did not hear that it was taken away", "error", err)
	}
	http.Redirect(rw, r, "/room/app", http.StatusSeeOther)
}
