package prompts

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/sashabaranov/go-openai"
)

// A refusedError is a request that the server does not take as it stands.
type refusedError struct{ status int }

func (e *refusedError) Error() string {
	return fmt.Sprintf("%v: it answered %d", ErrRejected, e.status)
}
func (e *refusedError) Is(target error) bool { return target == ErrRejected }

// mayBeFormat tells the statuses with which servers answer a response format
// that they do not know.
func (e *refusedError) mayBeFormat() bool {
	return slices.Contains([]int{http.StatusBadRequest, http.StatusUnprocessableEntity, http.StatusNotImplemented}, e.status)
}

// statusError is nil for a 2xx status. It never quotes the server, which may
// quote the request.
func statusError(resp *http.Response) error {
	status := resp.StatusCode
	switch {
	case status >= 200 && status < 300:
		return nil
	case status == http.StatusUnauthorized, status == http.StatusForbidden:
		return fmt.Errorf("%w: it answered %d", ErrUnauthorized, status)
	case status == http.StatusNotFound, noSuchModel(resp):
		return fmt.Errorf("%w: it answered %d", ErrNoModel, status)
	case status == http.StatusTooManyRequests:
		return &Limited{RetryAfter: retryAfter(resp.Header, time.Now())}
	case status >= 500 && status != http.StatusNotImplemented, status == http.StatusRequestTimeout:
		return fmt.Errorf("%w: it answered %d", ErrUnavailable, status)
	}
	return &refusedError{status}
}

// noSuchModel finds servers that say so with a 400.
func noSuchModel(resp *http.Response) bool {
	if resp.StatusCode != http.StatusBadRequest {
		return false
	}
	var said struct {
		Error struct {
			Code any `json:"code"`
		} `json:"error"`
	}
	if json.NewDecoder(io.LimitReader(resp.Body, longestAnswer)).Decode(&said) != nil {
		return false
	}
	return said.Error.Code == "model_not_found"
}

// retryAfter reads a Retry-After header in either of its forms (RFC 9110,
// section 10.2.3). A moment is taken against the server's own clock where it
// shows one.
func retryAfter(h http.Header, now time.Time) time.Duration {
	value := strings.TrimSpace(h.Get("Retry-After"))
	var wait time.Duration
	if seconds, err := strconv.ParseFloat(value, 64); err == nil && seconds > 0 {
		wait = time.Duration(min(seconds, 24*60*60) * float64(time.Second))
	} else if at, err := http.ParseTime(value); err == nil {
		if date, err := http.ParseTime(h.Get("Date")); err == nil {
			now = date
		}
		wait = at.Sub(now)
	}
	return min(max(wait, 0), 24*time.Hour)
}

// plainError turns whatever went wrong into one of the errors that callers
// know. What the library and the network say is left behind: it may hold the
// address, the key, or what people wrote.
func plainError(caller, limited context.Context, err error) error {
	var patience *Limited
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &patience), isOurs(err):
		return err
	case caller.Err() != nil:
		return fmt.Errorf("drafting: %w", caller.Err())
	case limited.Err() != nil:
		return fmt.Errorf("%w within the time limit", ErrUnavailable)
	case errors.Is(err, errTooLong):
		return &NoDraft{Reason: "the answer was longer than 1 MB"}
	case errors.Is(err, openai.ErrChatCompletionInvalidModel):
		return fmt.Errorf("%w: this model takes no conversations", ErrNoModel)
	case errors.Is(err, errCutOff), errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return fmt.Errorf("%w in full: it was cut off", ErrUnavailable)
	case errors.As(err, &syntax), errors.As(err, &kind):
		return fmt.Errorf("%w in the OpenAI-compatible form", ErrUnavailable)
	}
	return fmt.Errorf("%w: the connection failed", ErrUnavailable)
}

func isOurs(err error) bool {
	for _, ours := range []error{ErrUnauthorized, ErrNoModel, ErrRejected, ErrUnavailable, ErrNoDraft} {
		if errors.Is(err, ours) {
			return true
		}
	}
	return false
}
