package chat

import (
	"cmp"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"time"

	"github.com/slack-go/slack"
)

// What can be wrong with a call to the platform, as far as callers care.
// Whatever else goes wrong may pass: trying again may help.
var (
	ErrGone       = errors.New("the message cannot be changed any more")
	ErrForbidden  = errors.New("the platform does not let us in")
	ErrNotAllowed = errors.New("the app lacks the right to do this")
	ErrRevoked    = fmt.Errorf("the token was revoked: %w", ErrForbidden)
)

// meanings are what the platform's answers mean to callers, where that depends
// on the method, under its name.
var meanings = map[string]error{
	"chat.update message_not_found": ErrGone, "chat.update edit_window_closed": ErrGone, "chat.update cant_update_message": ErrGone,
	"canvases.edit canvas_not_found": ErrGone, "canvases.edit file_not_found": ErrGone, "canvases.edit canvas_deleted": ErrGone,
	"missing_scope": ErrNotAllowed, "not_allowed_token_type": ErrNotAllowed, "no_permission": ErrNotAllowed,
	"token_revoked": ErrRevoked, "account_inactive": ErrRevoked,
	"channel_not_found": ErrForbidden, "not_in_channel": ErrForbidden, "is_archived": ErrForbidden, "is_inactive": ErrForbidden,
	"invalid_auth": ErrForbidden, "not_authed": ErrForbidden, "user_not_found": ErrForbidden, "restricted_action": ErrForbidden,
	"cannot_dm_bot": ErrForbidden,
}

// A RateLimited error says how long the platform asks us to wait.
type RateLimited struct {
	Wait   time.Duration
	Method string
}

func (e *RateLimited) Error() string {
	return fmt.Sprintf("%s: the platform asks to wait %v", e.Method, e.Wait)
}

// Answer is the code with which the platform said no; empty where it did not.
func Answer(err error) string {
	answer, _ := errors.AsType[slack.SlackErrorResponse](err)
	return answer.Err
}

// Refused reports that the platform answered with one of these codes.
func Refused(err error, codes ...string) bool { return slices.Contains(codes, Answer(err)) }

// Lost reports that trying again at once may help: the platform neither
// answered no nor asked to wait.
func Lost(err error) bool {
	return !errors.As(err, new(*RateLimited)) && Answer(err) == ""
}

// unlessRefused takes an answer that says "so it is already" as a success.
func unlessRefused(err error, code string) error {
	if Refused(err, code) {
		return nil
	}
	return err
}

// unlessUnreadable passes over what no second try would let us read.
func unlessUnreadable(err error) error {
	if errors.Is(err, ErrNotAllowed) || errors.Is(err, ErrForbidden) {
		return nil
	}
	return err
}

// explain wraps an error of the platform in what callers can act upon.
func explain(method string, err error) error {
	if err == nil {
		return nil
	}
	var limited *slack.RateLimitedError
	if errors.As(err, &limited) {
		return &RateLimited{Wait: limited.RetryAfter, Method: method}
	}
	answer := Answer(err)
	if answer == "" {
		return fmt.Errorf("%s: %w", method, withoutAddress(err))
	}
	if meaning := cmp.Or(meanings[method+" "+answer], meanings[answer]); meaning != nil {
		return fmt.Errorf("%s: %w: %w", method, meaning, err)
	}
	return fmt.Errorf("%s: %w", method, err)
}

// withoutAddress leaves out where a call went: an address that the platform
// handed out to answer a button, or to take a file, is a key to it.
func withoutAddress(err error) error {
	var call *url.Error
	if errors.As(err, &call) {
		return call.Err
	}
	return err
}
