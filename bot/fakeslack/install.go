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
func (app *App) refuses(token string) string {
	switch {
	case token == "":
		return "not_authed"
	case app.gone, app.revoked[token]:
		return "account_inactive" // what a team answers that has taken the app away
	case app.token != "" && token != app.token:
		return "invalid_auth"
	}
	return ""
}

// next counts up what must not be guessed elsewhere; here the same run has to
// give the same bytes.
func (app *App) next(kind string) string {
	app.number++
	return fmt.Sprintf("%s-%s-%d", kind, app.team, app.number)
}

// Authorize lets the app in as a person does who presses the button: query is
// what the app asked for. It returns where the browser goes next.
func (app *App) Authorize(query url.Values, allow bool) (back string, err error) {
	app.mu.Lock()
	defer app.mu.Unlock()
	to, err := url.Parse(query.Get("redirect_uri"))
	switch {
	case app.cfg.ClientID != "" && query.Get("client_id") != app.cfg.ClientID:
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
		code := app.next("code")
		app.codes[code] = grant{scopes: strings.Split(query.Get("scope"), ","), redirect: query.Get("redirect_uri"), until: app.Now().Add(codeLife)}
		answer.Set("code", code)
	}
	to.RawQuery = answer.Encode()
	return to.String(), nil
}

// oauthAccess exchanges a code for a bot token.
func (app *App) oauthAccess(a args) (reply, error) {
	g, known := app.codes[a.str("code")]
	switch {
	case app.cfg.ClientID != "" && a.str("client_id") != app.cfg.ClientID:
		return nil, wire.Refuse("invalid_client_id")
	case app.cfg.ClientSecret != "" && a.str("client_secret") != app.cfg.ClientSecret:
		return nil, wire.Refuse("bad_client_secret")
	case !known:
		return nil, wire.Refuse("invalid_code")
	case g.spent:
		return nil, wire.Refuse("code_already_used")
	case app.Now().After(g.until):
		return nil, wire.Refuse("code_expired")
	case a.str("redirect_uri") != g.redirect:
		return nil, wire.Refuse("bad_redirect_uri")
	}
	g.spent = true
	app.codes[a.str("code")] = g
	if app.token == "" || app.gone { // installed again, the app keeps its token
		app.token, app.gone = app.next("xoxb"), false
	}
	return reply{
		"access_token": app.token, "token_type": "bot", "scope": strings.Join(g.scopes, ","), "bot_user_id": app.bot, "app_id": app.app,
		"team": reply{"id": app.team, "name": app.cfg.Team}, "enterprise": nil, "is_enterprise_install": false,
		"authed_user": reply{"id": app.dir.firstPerson()},
	}, nil
}

func (dir *directory) firstPerson() string {
	for _, id := range dir.userIDs {
		if !dir.users[id].Bot {
			return id
		}
	}
	return ""
}

// Uninstall takes the app away, as an administrator does: its token is revoked at
// once, and the app hears of it. The platform promises no order of the two
// events; this is the less convenient one.
func (app *App) Uninstall(ctx context.Context) error {
	app.mu.Lock()
	if app.token != "" {
		app.revoked[app.token] = true
	}
	app.token, app.gone = "", true
	events := []delivery{
		app.outbox.event(reply{"type": "tokens_revoked", "tokens": reply{"oauth": []string{}, "bot": []string{app.bot}}}, false),
		app.outbox.event(reply{"type": "app_uninstalled"}, false),
	}
	app.mu.Unlock()
	return app.outbox.send(ctx, events...)
}

// An Installation is how the app stands in a team.
type Installation struct {
	Token string // given last; empty before the first install and after the app was taken away
	Gone  bool   // the app was taken away
}

// Installation says how the app stands.
func (app *App) Installation() Installation {
	app.mu.Lock()
	defer app.mu.Unlock()
	return Installation{Token: app.token, Gone: app.gone}
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
	_ = consentPage.Execute(rw, c) // the reader may have gone
}

// serveAuthorize asks whether the app may come in.
func (app *App) serveAuthorize(rw http.ResponseWriter, r *http.Request) {
	showConsent(rw, http.StatusOK, consentShown{
		Title: "Let " + app.cfg.BotName + " into " + app.cfg.Team + "?", Lines: []string{"In this team it may then use:"},
		Scopes: strings.Split(r.URL.Query().Get("scope"), ","), Action: authorizePath + "?" + r.URL.RawQuery,
		Buttons: []consentButton{{app.team, "Allow", true}, {"", "Cancel", false}},
	})
}

// serveConsent takes the answer and sends the browser back to the app.
func (app *App) serveConsent(rw http.ResponseWriter, r *http.Request) {
	back, err := app.Authorize(r.URL.Query(), r.PostFormValue("answer") == app.team)
	if err != nil {
		showConsent(rw, http.StatusBadRequest, consentShown{Title: "Something went wrong", Lines: []string{"The app asked for something that it may not: " + err.Error() + "."}})
		return
	}
	http.Redirect(rw, r, back, http.StatusFound)
}

// serveApp shows whether the app is here, with a button to take it away.
func (app *App) serveApp(rw http.ResponseWriter, _ *http.Request) {
	c := consentShown{Title: app.cfg.BotName + " in " + app.cfg.Team, Lines: []string{"The app is installed."},
		Action: "/room/uninstall", Buttons: []consentButton{{"yes", "Take It Away", true}}}
	if app.Installation().Gone {
		c.Lines, c.Action = []string{"The app was taken away. Open the install page of the bot to put it back."}, ""
	}
	showConsent(rw, http.StatusOK, c)
}

// serveUninstall takes the app away. The page that a browser gets says how it went.
func (app *App) serveUninstall(rw http.ResponseWriter, r *http.Request) {
	if err := app.Uninstall(context.WithoutCancel(r.Context())); err != nil {
		app.cfg.Logger.Debug("the app did not hear that it was taken away", "error", err)
	}
	http.Redirect(rw, r, "/room/app", http.StatusSeeOther)
}
