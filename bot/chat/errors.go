package chat

import (
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
	ErrRevoked    = errors.New("the token was revoked") // also an ErrForbidden
)

// A RateLimited error says how long the platform asks us to wait.
type RateLimited struct {
	Wait   time.Duration
	Method string
}

func (e *RateLimited) Error() string {
	return fmt.Sprintf("%s: the platform asks to wait %v", e.Method, e.Wait)
}

// Refused reports that the platform answered with one of these codes, or,
// where none is named, that it said no at all.
func Refused(err error, codes ...string) bool {
	var answer slack.SlackErrorResponse
	return errors.As(err, &answer) && (len(codes) == 0 || slices.Contains(codes, answer.Err))
}

// Lost reports that trying again at once may help: the platform neither
// answered no nor asked to wait.
func Lost(err error) bool {
	var limited *RateLimited
	return !errors.As(err, &limited) && !Refused(err)
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
	if !Refused(err) {
		return fmt.Errorf("%s: %w", method, withoutAddress(err))
	}
	is := func(codes ...string) bool { return Refused(err, codes...) }
	switch {
	case method == "chat.update" && is("message_not_found", "edit_window_closed", "cant_update_message"),
		method == "canvases.edit" && is("canvas_not_found", "file_not_found", "canvas_deleted"):
		return fmt.Errorf("%s: %w: %w", method, ErrGone, err)
	case is("missing_scope", "not_allowed_token_type", "no_permission"):
		return fmt.Errorf("%s: %w: %w", method, ErrNotAllowed, err)
	case is("token_revoked", "account_inactive"):
		return fmt.Errorf("%s: %w: %w: %w", method, ErrRevoked, ErrForbidden, err)
	case is("channel_not_found", "not_in_channel", "is_archived", "is_inactive", "invalid_auth", "not_authed",
		"user_not_found", "restricted_action", "cannot_dm_bot"):
		return fmt.Errorf("%s: %w: %w", method, ErrForbidden, err)
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
