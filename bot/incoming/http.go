package incoming

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"soundings/bot/metrics"

	"github.com/slack-go/slack"
	"golang.org/x/time/rate"
)

// maxBody bounds what a request may weigh. The largest form that the platform
// sends is far smaller.
const maxBody = 1 << 20

// Handler serves what the platform sends over HTTP.
func (v *Receiver) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("POST /slack/interactions", v.signed("application/x-www-form-urlencoded", v.readInteraction))
	mux.Handle("POST /slack/commands", v.signed("application/x-www-form-urlencoded", v.readCommand))
	mux.Handle("POST /slack/events", v.signed("application/json", v.readEvent))
	limits := newLimits()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !limits.allow(r.RemoteAddr, v.Clock()) {
			v.Metrics.Refuse(metrics.TooMany)
			w.Header().Set("Retry-After", "1")
			http.Error(w, "too many requests from this address", http.StatusTooManyRequests)
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// signed reads a request's body once, holds it to its signature, and hands it
// on. Nothing is parsed before that, and nothing but the body is handed on: what
// stands in the address is not signed.
func (v *Receiver) signed(contentType string, next func(ctx context.Context, body []byte) (answer any, err error)) http.Handler {
	// Anybody can send what is not signed, and must not fill the log with it.
	often := &rate.Sometimes{First: 10, Interval: time.Minute}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != contentType {
			v.Metrics.Refuse("content type")
			http.Error(w, "the content type must be "+contentType, http.StatusUnsupportedMediaType)
			return
		}
		body, err := readBody(w, r)
		if err != nil {
			v.Metrics.Refuse("too large or cut off")
			http.Error(w, "the request is too large, or was cut off", http.StatusRequestEntityTooLarge)
			return
		}
		if err := verify(v.Secret, r.Header, body, v.Clock()); err != nil {
			v.Metrics.Refuse(refusedAs[err])
			often.Do(func() { v.Logger.Warn("request refused", "path", r.URL.Path, "reason", err) })
			http.Error(w, "the request is not signed as it must be", http.StatusUnauthorized)
			return
		}
		answer, err := v.inTime(r.Context(), func(ctx context.Context) (any, error) { return next(ctx, body) })
		v.answer(w, r, answer, err)
	})
}

// readBody reads into a buffer of the size that is announced, as far as the
// platform's own requests are large: what is announced is not signed.
func readBody(w http.ResponseWriter, r *http.Request) ([]byte, error) {
	const usual = 64 << 10
	var body bytes.Buffer
	body.Grow(int(min(max(r.ContentLength, 0), usual)) + bytes.MinRead)
	_, err := body.ReadFrom(http.MaxBytesReader(w, r.Body, maxBody))
	return body.Bytes(), err
}

func (v *Receiver) readInteraction(ctx context.Context, body []byte) (any, error) {
	form, err := url.ParseQuery(string(body))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errUnreadable, err)
	}
	return v.interact(ctx, []byte(form.Get("payload")))
}

func (v *Receiver) interact(ctx context.Context, payload []byte) (any, error) {
	in, err := parseInteraction(payload)
	if err != nil {
		return nil, err
	}
	return v.Interact(ctx, in)
}

func (v *Receiver) readCommand(ctx context.Context, body []byte) (any, error) {
	form, err := url.ParseQuery(string(body))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errUnreadable, err)
	}
	if form.Get("ssl_check") == "1" {
		return nil, nil // the platform only asks whether we are there
	}
	return v.SlashCommand(ctx, slack.SlashCommand{
		TeamID: form.Get("team_id"), ChannelID: form.Get("channel_id"), UserID: form.Get("user_id"),
		Command: form.Get("command"), Text: form.Get("text"), TriggerID: form.Get("trigger_id"),
		ResponseURL: form.Get("response_url"),
	})
}

func (v *Receiver) readEvent(ctx context.Context, body []byte) (any, error) {
	var outer struct {
		Type, Challenge string
	}
	if err := json.Unmarshal(body, &outer); err != nil {
		return nil, fmt.Errorf("%w: %w", errUnreadable, err)
	}
	if outer.Type == "url_verification" {
		return map[string]string{"challenge": outer.Challenge}, nil
	}
	return nil, v.Event(ctx, body)
}

// answer acknowledges with 200 only what is durable. A failure is answered
// with 500, so that the platform shows an error or sends again.
func (v *Receiver) answer(w http.ResponseWriter, r *http.Request, answer any, err error) {
	switch {
	case errors.Is(err, errUnreadable):
		v.Logger.Warn("request cannot be read", "path", r.URL.Path, "error", err)
		http.Error(w, "the request cannot be read", http.StatusBadRequest)
	case err != nil:
		v.Logger.Error("request failed", "path", r.URL.Path, "error", err)
		http.Error(w, "this could not be done just now", http.StatusInternalServerError)
	case answer == nil:
		w.WriteHeader(http.StatusOK)
	default:
		w.Header().Set("Content-Type", "application/json")
		if err := json.NewEncoder(w).Encode(answer); err != nil {
			v.Logger.Warn("answer was cut off", "path", r.URL.Path, "error", err)
		}
	}
}

// signatureAge is how old, or how far ahead, a signed request may be.
const signatureAge = 5 * time.Minute

// Why a request is refused before it is read.
var (
	errUnsigned  = errors.New("the request carries no signature")
	errStale     = errors.New("the request is too old, or from the future: set the clock of this machine")
	errSignature = errors.New("the signature does not match: set the signing secret of the app that sends here, from its page Basic Information")
)

// refusedAs names them for the metrics.
var refusedAs = map[error]string{errUnsigned: metrics.Unsigned, errStale: metrics.Stale, errSignature: metrics.WrongSignature}

// verify holds a request to the platform's signature over its raw body. The
// client library has the same check, but reads the machine's clock; ours is
// given one.
func verify(secret string, h http.Header, body []byte, now time.Time) error {
	stamp, signature := h.Get("X-Slack-Request-Timestamp"), h.Get("X-Slack-Signature")
	if stamp == "" || signature == "" {
		return errUnsigned
	}
	seconds, err := strconv.ParseInt(stamp, 10, 64)
	if err != nil {
		return errStale
	}
	if age := now.Sub(time.Unix(seconds, 0)); age > signatureAge || age < -signatureAge {
		return errStale
	}
	if !hmac.Equal([]byte(signature), []byte(sign(secret, stamp, body))) {
		return errSignature
	}
	return nil
}

// sign computes the signature of a body at a time.
func sign(secret, stamp string, body []byte) string {
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte("v0:" + stamp + ":"))
	mac.Write(body)
	return "v0=" + hex.EncodeToString(mac.Sum(nil))
}
