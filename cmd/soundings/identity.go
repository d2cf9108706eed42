package main

import (
	"context"
	"errors"
	"fmt"
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

// A tokenError is a token that the platform does not take: any more, if revoked.
type tokenError struct {
	error
	revoked bool
}

func (e *tokenError) Unwrap() error { return e.error }

// platformTimeout bounds one question to the platform.
const platformTimeout = 10 * time.Second

// webAPI is a client for one question to the platform.
func (s settings) webAPI(token string, options ...slack.Option) *slack.Client {
	options = append(options, slack.OptionHTTPClient(&http.Client{Timeout: platformTimeout}), slack.OptionAppLevelToken(s.AppToken))
	if s.APIURL != "" {
		options = append(options, slack.OptionAPIURL(s.apiURL()))
	}
	return slack.New(token, options...)
}

// identify asks the platform whose a bot token is. A token that is not taken
// is a wrong setting; a platform out of reach is not.
func (s settings) identify(ctx context.Context, token string) (identity, error) {
	var headers http.Header
	keep := slack.OptionOnResponseHeaders(func(_ string, h http.Header) { headers = h })
	began := time.Now()
	answer, err := s.webAPI(token, keep).AuthTestContext(ctx)
	if err != nil {
		return identity{}, s.notIdentified(err)
	}
	who := identity{team: answer.Team, teamID: answer.TeamID, user: answer.User}
	if listed := headers.Get("X-OAuth-Scopes"); listed != "" {
		who.scopes = strings.Split(strings.ReplaceAll(listed, " ", ""), ",")
	}
	who.ahead, who.timed = aheadOf(headers, began, time.Now())
	return who, nil
}

func (s settings) notIdentified(err error) error {
	if limited, is := errors.AsType[*slack.RateLimitedError](err); is {
		return fmt.Errorf("the platform is asked too often just now: try again in %v", limited.RetryAfter)
	}
	if status, is := errors.AsType[slack.StatusCodeError](err); is && status.Code >= http.StatusInternalServerError {
		return fmt.Errorf("the platform is not well (HTTP status %d): try again later", status.Code)
	}
	answer, answered := errors.AsType[slack.SlackErrorResponse](err)
	if !answered {
		return s.outOfReach(err)
	}
	switch answer.Err {
	case "invalid_auth", "not_authed", "account_inactive", "token_revoked", "token_expired", "not_allowed_token_type":
		revoked := answer.Err == "account_inactive" || answer.Err == "token_revoked"
		return &tokenError{wrongf("SLACK_BOT_TOKEN is not accepted (%s): copy the bot token from the page OAuth & Permissions of the app, and install the app again if it was removed", answer.Err), revoked}
	}
	return fmt.Errorf("the platform answers %s when asked whose the bot token is: try again later", answer.Err)
}

func (s settings) outOfReach(err error) error {
	if s.APIURL != "" {
		return fmt.Errorf("no Web API at SLACK_API_URL: %w; check that the rehearsal there runs, and the address, which mostly ends in /api/", withoutAddress(err))
	}
	return fmt.Errorf("the Web API does not answer: %w; check that this machine may connect to slack.com", withoutAddress(err))
}

// withoutAddress leaves the address that was asked out of an error of the
// network: it may hold ids, or a secret.
func withoutAddress(err error) error {
	if asked, is := errors.AsType[*url.Error](err); is {
		return asked.Err
	}
	return err
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
