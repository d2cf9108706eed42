package installs

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/slack-go/slack"
)

// The addresses of the flow, below the public address of the bot.
const (
	InstallPath = "/slack/install" // where a person begins
	ReturnPath  = "/slack/oauth"   // where the platform sends them back to
)

// FlowConfig is what a Flow is made of. Fields without a default are needed.
type FlowConfig struct {
	Store    *Store
	ClientID string
	Secret   string // of the client; never shown
	Public   string // the bot's own address, as people reach it
	API      string // the Web API, ending in a slash; default: the platform's
	Needed   []string
	Optional []string

	// Save takes a new install: into the Store, and whatever else has to
	// happen before somebody is told that it worked.
	Save func(context.Context, Install) error

	Clock  func() time.Time // default: time.Now
	Logger *slog.Logger     // default: discards
}

// A Flow serves the pages on which workplaces install the app.
type Flow struct {
	FlowConfig
	authorize  string // the platform's page
	secure     bool   // people reach us over TLS
	cookieName string
	client     *http.Client
}

// NewFlow makes a Flow, or says what its configuration lacks.
func NewFlow(c FlowConfig) (*Flow, error) {
	if c.Store == nil || c.Store.keys == nil || c.Save == nil || c.ClientID == "" || c.Secret == "" || len(c.Needed) == 0 {
		return nil, errors.New("make the install pages: a store with keys, where to save, the client's id and secret, and scopes are needed")
	}
	c.API = cmp.Or(c.API, slack.APIURL)
	c.Logger = cmp.Or(c.Logger, slog.New(slog.DiscardHandler))
	if c.Clock == nil {
		c.Clock = time.Now
	}
	// The platform's page stands beside its Web API, as it does in a rehearsal.
	authorize, err := url.JoinPath(c.API, "../oauth/v2/authorize")
	if err != nil {
		return nil, errors.New("make the install pages: the address of the Web API is none")
	}
	c.Public = strings.TrimRight(c.Public, "/")
	f := &Flow{
		FlowConfig: c,
		authorize:  authorize,
		secure:     strings.HasPrefix(c.Public, "https://"),
		cookieName: "soundings-install",
		client:     &http.Client{Timeout: 10 * time.Second},
	}
	if f.secure { // a browser takes a __Host- cookie from this very host alone, so that no neighbour can set it
		f.cookieName = "__Host-" + f.cookieName
	}
	return f, nil
}

// Handler serves InstallPath and ReturnPath.
func (f *Flow) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+InstallPath, f.redirect)
	mux.HandleFunc("GET "+ReturnPath, f.callback)
	for _, path := range []string{InstallPath, ReturnPath} { // whoever only looks, as link previews do, begins nothing
		mux.HandleFunc("HEAD "+path, func(http.ResponseWriter, *http.Request) {})
	}
	return mux
}

// cookie binds a browser to its state. Lax, since the platform sends people
// back from another site. A negative life takes it away.
func (f *Flow) cookie(value string, life int) *http.Cookie {
	return &http.Cookie{Name: f.cookieName, Value: value, Path: "/", MaxAge: life, Secure: f.secure, HttpOnly: true, SameSite: http.SameSiteLaxMode}
}

// redirect sends a person to the platform.
func (f *Flow) redirect(w http.ResponseWriter, r *http.Request) {
	state, cookie := f.Store.keys.newState(f.Clock())
	http.SetCookie(w, f.cookie(cookie, int(stateLife/time.Second)))
	noStore(w)
	http.Redirect(w, r, f.authorize+"?"+url.Values{
		"client_id": {f.ClientID}, "scope": {strings.Join(append(slices.Clone(f.Needed), f.Optional...), ",")},
		"redirect_uri": {f.Public + ReturnPath}, "state": {state},
	}.Encode(), http.StatusFound)
}

// callback takes a person who comes from the platform, with a yes or a no.
// The state is checked first: nothing that comes without one is acted upon.
func (f *Flow) callback(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	if err := f.checkState(r, q.Get("state")); err != nil {
		f.refuse(w, r, err)
		return
	}
	http.SetCookie(w, f.cookie("", -1))
	switch {
	case q.Get("error") == "access_denied":
		f.Logger.Info("an install was refused by the person")
		f.show(w, pageDenied)
		return
	case q.Get("error") != "" || q.Get("code") == "":
		f.Logger.Warn("an install came back without a code")
		failed := pageFailed
		failed.Status = http.StatusBadRequest
		f.show(w, failed)
		return
	}
	install, err := f.exchange(r.Context(), q.Get("code"))
	if err == nil {
		// Whoever closes the page now has said yes all the same.
		err = f.Save(context.WithoutCancel(r.Context()), install)
	}
	if err != nil {
		f.refuse(w, r, err)
		return
	}
	f.Logger.Info("a workplace has installed the app", "team", install.Team)
	f.show(w, pageDone(install.Name))
}

// checkState checks the state against the browser's cookie and marks it used.
func (f *Flow) checkState(r *http.Request, state string) error {
	cookie, err := r.Cookie(f.cookieName)
	if err != nil {
		return errNoState
	}
	left, err := f.Store.keys.checkState(state, cookie.Value, f.Clock())
	if err != nil {
		return err
	}
	return f.Store.markUsed(r.Context(), cookie.Value, left)
}

// What can be wrong with an exchange, as far as people can do something.
var (
	errCode          = &pageError{pageExpired, "the platform does not take the code"}
	errAppConfig     = &pageError{pageAppConfig, "the platform does not know the app by this id, secret or address"}
	errEnterprise    = &pageError{pageEnterprise, "the app was given to a whole organisation"}
	errMissingScopes = &pageError{pageMissingScopes, "the platform gave fewer scopes than the bot cannot do without"}
)

// exchange asks the platform for the token behind a code.
func (f *Flow) exchange(ctx context.Context, code string) (Install, error) {
	answer, err := slack.GetOAuthV2ResponseContext(ctx, f.client, f.ClientID, f.Secret, code, f.Public+ReturnPath, slack.OAuthOptionAPIURL(f.API))
	if err != nil {
		return Install{}, notExchanged(err)
	}
	scopes := strings.FieldsFunc(answer.Scope, func(r rune) bool { return r == ',' || r == ' ' })
	switch {
	case answer.IsEnterpriseInstall || answer.Team.ID == "":
		return Install{}, errEnterprise
	case answer.AccessToken == "" || answer.TokenType != "bot":
		return Install{}, errors.New("the platform gave no bot token")
	case answer.RefreshToken != "" || answer.ExpiresIn > 0:
		return Install{}, errors.New("the platform gave a token that expires: switch token rotation off, on the page OAuth & Permissions of the app")
	case slices.ContainsFunc(f.Needed, func(s string) bool { return !slices.Contains(scopes, s) }):
		return Install{}, errMissingScopes
	}
	return Install{Team: answer.Team.ID, Name: answer.Team.Name, Token: answer.AccessToken, BotUser: answer.BotUserID, Scopes: scopes, At: f.Clock().UTC()}, nil
}

// notExchanged names the platform's answer, and nothing else of the call: it
// holds the code and the secret.
func notExchanged(err error) error {
	var answer slack.SlackErrorResponse
	if !errors.As(err, &answer) {
		if call := (*url.Error)(nil); errors.As(err, &call) {
			err = call.Err
		}
		return fmt.Errorf("exchange a code: the platform does not answer: %w", err)
	}
	switch answer.Err {
	case "invalid_code", "code_already_used", "code_expired":
		return fmt.Errorf("%w (%s)", errCode, answer.Err)
	case "bad_client_secret", "invalid_client_id", "bad_redirect_uri", "invalid_client", "oauth_authorization_url_mismatch":
		return fmt.Errorf("%w (%s)", errAppConfig, answer.Err)
	}
	return fmt.Errorf("exchange a code: the platform answers %q", answer.Err)
}

// refuse shows the page for what went wrong, and logs it.
func (f *Flow) refuse(w http.ResponseWriter, r *http.Request, err error) {
	shown := pageFailed
	if known := (*pageError)(nil); errors.As(err, &known) {
		shown = known.page
	}
	if shown.Kind == pageExpired.Kind {
		f.Logger.Info("an install was turned away", "path", r.URL.Path, "reason", err)
	} else {
		f.Logger.Error("an install failed", "path", r.URL.Path, "error", err)
	}
	f.show(w, shown)
}
