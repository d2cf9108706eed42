package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/slack-go/slack"
)

// An identity is what the platform says about the bot token.
type identity struct {
	team, teamID, user string

	scopes []string      // nil where the platform does not tell
	ahead  time.Duration // how far our clock is ahead of the platform's
	timed  bool          // whether that is known
}

// platformTimeout bounds one question to the platform.
const platformTimeout = 10 * time.Second

func (s settings) platform(options ...slack.Option) *slack.Client {
	options = append(options, slack.OptionHTTPClient(&http.Client{Timeout: platformTimeout}), slack.OptionAppLevelToken(s.AppToken))
	if s.APIURL != "" {
		options = append(options, slack.OptionAPIURL(s.apiURL()))
	}
	return slack.New(s.BotToken, options...)
}

// identify asks the platform whose the bot token is. A token that is not
// taken is a wrong setting; a platform out of reach is not.
func (s settings) identify(ctx context.Context) (identity, error) {
	var headers http.Header
	keep := slack.OptionOnResponseHeaders(func(_ string, h http.Header) { headers = h })
	began := time.Now()
	answer, err := s.platform(keep).AuthTestContext(ctx)
	if err != nil {
		return identity{}, s.notIdentified(err)
	}
	who := identity{team: answer.Team, teamID: answer.TeamID, user: answer.User, scopes: scopesOf(headers)}
	who.ahead, who.timed = aheadOf(headers, began, time.Now())
	return who, nil
}

func (s settings) notIdentified(err error) error {
	var answer slack.SlackErrorResponse
	if !errors.As(err, &answer) {
		return s.outOfReach(err)
	}
	switch answer.Err {
	case "invalid_auth", "not_authed", "account_inactive", "token_revoked", "token_expired", "not_allowed_token_type":
		return wrongf("SLACK_BOT_TOKEN is not accepted (%s): copy the bot token from the page OAuth & Permissions of the app, and install the app again if it was removed", answer.Err)
	}
	return fmt.Errorf("the platform answers %s when asked whose the bot token is: try again later", answer.Err)
}

// outOfReach words an error of the network without the address that was
// asked, which other calls fill with ids.
func (s settings) outOfReach(err error) error {
	if asked := (*url.Error)(nil); errors.As(err, &asked) {
		err = asked.Err
	}
	if s.APIURL != "" {
		return fmt.Errorf("no Web API at SLACK_API_URL: %w; check that the rehearsal there runs, and the address, which mostly ends in /api/", err)
	}
	return fmt.Errorf("the Web API does not answer: %w; check that this machine may connect to slack.com", err)
}

// scopesOf reads the header that lists what a token may do.
func scopesOf(h http.Header) []string {
	listed := h.Get("X-OAuth-Scopes")
	if listed == "" {
		return nil
	}
	var scopes []string
	for scope := range strings.SplitSeq(listed, ",") {
		scopes = append(scopes, strings.TrimSpace(scope))
	}
	return scopes
}

// lacks lists the scopes that the token does not have; none where the
// platform does not tell.
func (who identity) lacks(scopes []string) []string {
	if who.scopes == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(scopes), func(s string) bool { return slices.Contains(who.scopes, s) })
}

// aheadOf compares our clock with that of an answer. The header has whole
// seconds, so half a second is added to it; the answer is taken to be from
// the middle of the call.
func aheadOf(h http.Header, began, ended time.Time) (ahead time.Duration, known bool) {
	theirs, err := http.ParseTime(h.Get("Date"))
	if err != nil {
		return 0, false
	}
	ours := began.Add(ended.Sub(began) / 2)
	return ours.Sub(theirs.Add(time.Second / 2)), true
}

// plug asks for the address of a socket, and does not open it.
func (s settings) plug(ctx context.Context) error {
	_, _, err := s.platform().StartSocketModeContext(ctx)
	var answer slack.SlackErrorResponse
	switch {
	case err == nil:
		return nil
	case !errors.As(err, &answer):
		return s.outOfReach(err)
	}
	switch answer.Err {
	case "missing_scope", "no_permission":
		return wrongf("SLACK_APP_TOKEN lacks the scope connections:write: make another app-level token with it on the page Basic Information of the app")
	case "socket_mode_not_enabled", "link_disabled":
		return wrongf("Socket Mode is switched off for the app (%s): switch it on, on the page Socket Mode of the app", answer.Err)
	}
	return wrongf("SLACK_APP_TOKEN is not accepted (%s): copy the app-level token from the page Basic Information of the app", answer.Err)
}

// readiness asks a bot that runs beside us on this machine whether it is
// ready: the health check of a container without a shell.
func (s settings) readiness(ctx context.Context) error {
	if s.Listen == "" {
		return wrongf("SOUNDINGS_LISTEN is missing: without it the bot cannot be asked whether it is ready")
	}
	if err := s.checkListen(); err != nil {
		return wrong(err)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+besideUs(s.Listen)+"/readyz", nil)
	if err != nil {
		return wrongf("SOUNDINGS_LISTEN is no address that can be asked")
	}
	answer, err := (&http.Client{Timeout: 2 * time.Second}).Do(r)
	if err != nil {
		return fmt.Errorf("no bot answers at SOUNDINGS_LISTEN: start it with soundings serve")
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("the bot is not ready (%s): its log says why", answer.Status)
	}
	return nil
}

// besideUs is where to ask on this machine what listens at address: an empty
// host, or one that stands for all, is this one.
func besideUs(address string) string {
	host, port, _ := net.SplitHostPort(address) // it was checked
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return net.JoinHostPort(host, port)
}
