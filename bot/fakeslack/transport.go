package fakeslack

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"soundings/bot/fakeslack/wire"
)

// AckWithin is how long the bot has to answer, in real time: the platform
// waits no longer, whatever the team's clock says.
const AckWithin = 3 * time.Second

// heaviestAnswer is how large an answer may be. Over HTTP the platform states
// no limit; over a socket it drops answers of 20 kB, and a bot that must work
// both ways has to keep to it in both.
const heaviestAnswer = 20 * 1024

// ErrNoAck is wrapped when the bot did not take a delivery: it was late, was
// not there, or said no. The person would see an error.
var ErrNoAck = errors.New("the bot did not take it")

// A deliveryKind says how something travels to the bot.
type deliveryKind string

const (
	eventDelivery       deliveryKind = "events"
	interactionDelivery deliveryKind = "interactions"
	commandDelivery     deliveryKind = "commands"
)

// A delivery is one delivery to the bot, whichever way it will go.
type delivery struct {
	kind    deliveryKind
	payload reply
	retry   int    // 0 for the first try
	reason  string // of the retry
}

// An answer is what the bot said to a delivery.
type answer struct {
	body    []byte
	noRetry bool // the bot asks for no further try
}

// A transport takes deliveries to the bot. An error means that the bot did not
// acknowledge, and wraps ErrNoAck.
type transport interface {
	deliver(ctx context.Context, p delivery) (answer, error)
}

// A deliveryError says how the bot failed to take a delivery.
type deliveryError struct {
	kind   deliveryKind
	reason string // the platform's word for it
	detail string
}

func (e *deliveryError) Error() string {
	return fmt.Sprintf("deliver to %s: %s: %s", e.kind, e.reason, e.detail)
}

func (e *deliveryError) Unwrap() error { return ErrNoAck }

// An httpTransport posts signed requests.
type httpTransport struct {
	client *http.Client
	secret string
	clock  func() time.Time
	within time.Duration

	mu     sync.Mutex
	botURL string
}

func (h *httpTransport) moveTo(base string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.botURL = base
}

// base is the address to post to; empty where there is none.
func (h *httpTransport) base() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.botURL
}

func (h *httpTransport) deliver(ctx context.Context, p delivery) (answer, error) {
	ctx, cancel := context.WithTimeout(ctx, h.within)
	defer cancel()
	req, err := h.request(ctx, p)
	if err != nil {
		return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: err.Error()}
	}
	resp, err := h.client.Do(req)
	if err != nil {
		return answer{}, &deliveryError{kind: p.kind, reason: failureReason(err), detail: err.Error()}
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, heaviestAnswer+1))
	if err != nil {
		return answer{}, &deliveryError{kind: p.kind, reason: failureReason(err), detail: err.Error()}
	}
	a := answer{body: body, noRetry: resp.Header.Get("X-Slack-No-Retry") == "1"}
	switch {
	case !taken(p.kind, resp.StatusCode):
		return a, &deliveryError{kind: p.kind, reason: "http_error", detail: resp.Status}
	case len(body) >= heaviestAnswer:
		return a, &deliveryError{kind: p.kind, reason: "answer_too_large", detail: fmt.Sprintf("%d bytes or more", heaviestAnswer)}
	}
	return a, nil
}

// taken reports whether a status acknowledges: any success does for events,
// while people's acts want 200.
func taken(kind deliveryKind, status int) bool {
	if kind == eventDelivery {
		return status >= 200 && status < 300
	}
	return status == http.StatusOK
}

func failureReason(err error) string {
	if errors.Is(err, context.DeadlineExceeded) {
		return "http_timeout"
	}
	return "connection_failed"
}

func (h *httpTransport) request(ctx context.Context, p delivery) (*http.Request, error) {
	body, kind := encodeDelivery(p)
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, strings.TrimRight(h.base(), "/")+"/slack/"+string(p.kind), bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	req.Header.Set("Content-Type", kind)
	req.Header.Set("User-Agent", "Slackbot 1.0 (+https://api.slack.com/robots)")
	if p.retry > 0 {
		req.Header.Set("X-Slack-Retry-Num", strconv.Itoa(p.retry))
		req.Header.Set("X-Slack-Retry-Reason", p.reason)
	}
	sign(req.Header, h.secret, h.clock(), body)
	return req, nil
}

// encodeDelivery writes a delivery as the platform does over HTTP: events as
// JSON, interactions as one form field of JSON, commands as form fields.
func encodeDelivery(p delivery) (body []byte, contentType string) {
	const form = "application/x-www-form-urlencoded"
	switch p.kind {
	case interactionDelivery:
		return append([]byte("payload="), url.QueryEscape(string(wire.Encode(p.payload)))...), form
	case commandDelivery:
		fields := url.Values{}
		for _, key := range slices.Sorted(maps.Keys(p.payload)) {
			fields.Set(key, fmt.Sprint(p.payload[key]))
		}
		return []byte(fields.Encode()), form
	}
	return wire.Encode(p.payload), "application/json"
}

// Headers of a signed delivery.
const (
	headerSignature = "X-Slack-Signature"
	headerTimestamp = "X-Slack-Request-Timestamp"
)

// signature is v0 of the platform's request signing: HMAC-SHA256 of version,
// timestamp and raw body, under the secret as text. Source: the page on
// verifying requests.
func signature(secret string, timestamp int64, body []byte) string {
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte("v0:" + strconv.FormatInt(timestamp, 10) + ":"))
	mac.Write(body)
	return "v0=" + hex.EncodeToString(mac.Sum(nil))
}

// sign puts the two headers on. The time is the team's, as the bot in a
// rehearsal is given the same clock.
func sign(h http.Header, secret string, at time.Time, body []byte) {
	h.Set(headerTimestamp, strconv.FormatInt(at.Unix(), 10))
	h.Set(headerSignature, signature(secret, at.Unix(), body))
}

// socketOrHTTP delivers where the app listens: through a socket while one is
// open, else to its HTTP address. An app without an address that has asked for
// sockets is taken to be reconnecting.
type socketOrHTTP struct {
	http    *httpTransport
	sockets *sockets
}

func (o *socketOrHTTP) deliver(ctx context.Context, p delivery) (answer, error) {
	if o.sockets.open() > 0 || o.sockets.expected() && o.http.base() == "" {
		return o.sockets.deliver(ctx, p)
	}
	return o.http.deliver(ctx, p)
}

// A faultyTransport lets deliveries meet the faults that are set.
type faultyTransport struct {
	next   transport
	faults *FaultCounter
	pause  func(ctx context.Context, d time.Duration)
}

func (c *faultyTransport) deliver(ctx context.Context, p delivery) (answer, error) {
	fate, twice, wait := c.faults.ofDelivery()
	c.pause(ctx, wait)
	if fate == cutOff {
		return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: "it was cut off"}
	}
	a, err := c.next.deliver(ctx, p)
	if twice {
		again := p
		if p.kind == eventDelivery {
			again.retry, again.reason = p.retry+1, "http_timeout"
		}
		_, _ = c.next.deliver(ctx, again) // the first answer has been taken
	}
	if fate == unheard {
		return answer{}, &deliveryError{kind: p.kind, reason: "http_timeout", detail: "the answer was lost"}
	}
	return a, err
}
