package prompts

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"time"
	"unicode"

	"github.com/sashabaranov/go-openai"
)

// DefaultTimeout is how long one draft may take in all, a second attempt
// included.
const DefaultTimeout = 20 * time.Second

// Config says which model drafts.
type Config struct {
	// URL is the address of an OpenAI-compatible server up to and including
	// the version, such as "http://127.0.0.1:8080/v1". Nothing is ever sent
	// elsewhere: a redirect is refused.
	URL string

	Model     string            // as the server names it
	Key       string            // sent as a bearer token; none is sent when empty
	Prices    Prices            // turn the tokens of a draft into what it cost
	Transport http.RoundTripper // nil means [http.DefaultTransport]
}

// Prices are what a million tokens cost, in whichever currency the server
// bills. The zero Prices are of a server that costs nothing, or whose prices
// nobody has said.
type Prices struct {
	Prompt     float64 // of what is sent
	Completion float64 // of what comes back
}

// ParsePrices reads prices such as "0.15/0.60"; nothing is the zero Prices.
func ParsePrices(text string) (p Prices, err error) {
	if text == "" {
		return p, nil
	}
	sent, back, _ := strings.Cut(text, "/")
	p.Prompt, err = strconv.ParseFloat(strings.TrimSpace(sent), 64)
	if err == nil {
		p.Completion, err = strconv.ParseFloat(strings.TrimSpace(back), 64)
	}
	if err != nil || !(p.Prompt >= 0 && p.Completion >= 0) || math.IsInf(p.Prompt+p.Completion, 0) {
		return Prices{}, errors.New("prices are two numbers of 0 or more with a / between them, " +
			"what a million tokens cost that are sent and that come back, such as 0.15/0.60")
	}
	return p, nil
}

// cost is what so many tokens cost.
func (p Prices) cost(prompt, completion int) float64 {
	return (p.Prompt*float64(prompt) + p.Completion*float64(completion)) / 1e6
}

// A ConfigError tells which field of a [Config] cannot be used, and how to fix it.
// It never holds the value: an address may carry a secret.
type ConfigError struct {
	Field string // "URL", "Model" or "Key"
	Fix   string // a sentence
}

func (e *ConfigError) Error() string { return "drafting: " + e.Field + ": " + e.Fix }

// A Client drafts. Any number of goroutines may use one at once; it keeps
// nothing of what it sends or reads.
type Client struct {
	base   *url.URL
	model  string
	prices Prices
	server *openai.Client
	plain  atomic.Bool // the server takes no response format
}

// New makes a client. With neither URL nor Model drafting is off: there is no
// client, and the error is [ErrOff]; a Config that is only half given, or wrong, is a [*ConfigError].
// Nothing is sent yet: whether the server is there shows with the first draft.
func New(c Config) (*Client, error) {
	c.URL, c.Model, c.Key = strings.TrimSpace(c.URL), strings.TrimSpace(c.Model), strings.TrimSpace(c.Key)
	if c.URL == "" && c.Model == "" {
		return nil, ErrOff
	}
	base, err := c.check()
	if err != nil {
		return nil, err
	}
	config := openai.DefaultConfig(c.Key)
	config.BaseURL = base.String()
	config.HTTPClient = doer{&http.Client{Transport: c.Transport,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	return &Client{base: base, model: c.Model, prices: c.Prices, server: openai.NewClientWithConfig(config)}, nil
}

// check finds the first fault of a Config that is not off, and reads its
// address. It forgives the two slips that documentation invites: a slash at
// the end, and the path of the call itself.
func (c Config) check() (*url.URL, error) {
	u, err := url.Parse(c.URL)
	switch {
	case c.URL == "":
		return nil, &ConfigError{"URL", "A model is named but no server. Give the address of an OpenAI-compatible server, or leave out both."}
	case c.Model == "":
		return nil, &ConfigError{"Model", "A server is given but no model. Name the model as the server names it, or leave out both."}
	case strings.ContainsFunc(c.Key, func(r rune) bool { return r > unicode.MaxASCII || unicode.IsControl(r) || r == ' ' }):
		return nil, &ConfigError{"Key", "A key has no spaces, line breaks or letters beyond ASCII. Copy it once more."}
	case err != nil, u.Scheme != "http" && u.Scheme != "https", u.Host == "":
		return nil, &ConfigError{"URL", "This is no web address. It starts with http:// or https:// and mostly ends in /v1."}
	case u.User != nil:
		return nil, &ConfigError{"URL", "An address holds no user or password here. Give a key instead."}
	case u.RawQuery != "" || u.Fragment != "":
		return nil, &ConfigError{"URL", "An address holds nothing after ? or # here. It mostly ends in /v1."}
	}
	u.Path = strings.TrimSuffix(strings.TrimRight(u.Path, "/"), "/chat/completions")
	return u, nil
}

// Host is where people's words would go: the host, and the port if one was
// given.
func (c *Client) Host() string { return c.base.Host }

// Model is the model that drafts, as the server names it.
func (c *Client) Model() string { return c.model }

// exchange sends one question and returns what the model says. A server that
// refuses it may only dislike the response format, which not all know, so it
// is asked once more without; if that goes well, later questions leave it out
// from the start.
//
// No temperature and no limit of tokens is sent: some models take only their
// own, and a refused request is worth less than a long answer, which the time
// limit and [longestAnswer] bound.
func (c *Client) exchange(ctx context.Context, kind string, messages []openai.ChatCompletionMessage, u *Usage) (string, error) {
	r := openai.ChatCompletionRequest{Model: c.model, Messages: messages}
	if !c.plain.Load() {
		r.ResponseFormat = &openai.ChatCompletionResponseFormat{
			Type:       openai.ChatCompletionResponseFormatTypeJSONSchema,
			JSONSchema: &openai.ChatCompletionResponseFormatJSONSchema{Name: kind, Schema: promptTexts[kind].schema, Strict: true},
		}
		content, err := c.send(ctx, r, u)
		if !errors.Is(err, errFormat) {
			return content, err
		}
		r.ResponseFormat = nil
	}
	content, err := c.send(ctx, r, u)
	if err == nil {
		c.plain.Store(true)
	}
	return content, err
}

// errFormat is an ErrRejected with which servers answer a response format that
// they do not know.
var errFormat = fmt.Errorf("%w", ErrRejected)

// send makes one request and reads the whole answer. A model that declines, or
// wishes for a tool, would do so again.
func (c *Client) send(ctx context.Context, r openai.ChatCompletionRequest, u *Usage) (string, error) {
	u.Calls++
	got, err := c.server.CreateChatCompletion(ctx, r)
	if err != nil {
		return "", err
	}
	u.PromptTokens += got.Usage.PromptTokens
	u.CompletionTokens += got.Usage.CompletionTokens
	u.Cost += c.prices.cost(got.Usage.PromptTokens, got.Usage.CompletionTokens)
	if len(got.Choices) == 0 {
		return "", nil
	}
	first := got.Choices[0]
	content := first.Message.Content
	for _, part := range first.Message.MultiContent {
		content += part.Text
	}
	if !isBlank(first.Message.Refusal) || len(first.Message.ToolCalls) > 0 || slices.Contains(declined, first.FinishReason) {
		return "", fmt.Errorf("%w: the model declined, or asked for a tool that there is not", ErrNoDraft)
	}
	return content, nil
}

var declined = []openai.FinishReason{openai.FinishReasonContentFilter, openai.FinishReasonToolCalls, openai.FinishReasonFunctionCall}

// longestAnswer is how many bytes of an answer are read at most.
const longestAnswer = 1 << 20

// A doer sends for the library's client. The library's own errors quote the
// server, which may quote the request, and leave out when it may be asked again.
type doer struct{ client *http.Client }

func (d doer) Do(req *http.Request) (*http.Response, error) {
	resp, err := d.client.Do(req)
	if err != nil {
		return nil, err
	}
	resp.Body = http.MaxBytesReader(nil, resp.Body, longestAnswer)
	if err := errorOf(resp); err != nil {
		_ = resp.Body.Close() // the status says enough
		return nil, err
	}
	return resp, nil
}

// errorOf is nil for a 2xx status.
func errorOf(resp *http.Response) error {
	err := ErrRejected
	switch status := resp.StatusCode; {
	case status >= 200 && status < 300:
		return nil
	case status == http.StatusTooManyRequests:
		return &Limited{RetryAfter: retryAfter(resp.Header, time.Now())}
	case status == http.StatusUnauthorized, status == http.StatusForbidden:
		err = ErrUnauthorized
	case status >= 300 && status < 400, status == http.StatusNotFound, status == http.StatusBadRequest && saysNoModel(resp):
		err = ErrNoModel
	case status == http.StatusBadRequest, status == http.StatusUnprocessableEntity, status == http.StatusNotImplemented:
		err = errFormat
	case status >= 500, status == http.StatusRequestTimeout:
		err = ErrUnavailable
	}
	return fmt.Errorf("%w: it answered %d", err, resp.StatusCode)
}

// saysNoModel finds servers that say so with a 400.
func saysNoModel(resp *http.Response) bool {
	var said struct{ Error struct{ Code any } }
	return json.NewDecoder(resp.Body).Decode(&said) == nil && said.Error.Code == "model_not_found"
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
// know. What the network and the decoder say is left behind: it may hold the
// address, the key, or what people wrote.
func plainError(caller, limited context.Context, err error) error {
	var busy *Limited
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &busy), slices.ContainsFunc(ours, func(o error) bool { return errors.Is(err, o) }):
		return err
	case caller.Err() != nil:
		return fmt.Errorf("drafting: %w", caller.Err())
	case limited.Err() != nil:
		return ErrSlow
	case errors.As(err, &tooLong):
		return fmt.Errorf("%w: the answer was longer than 1 MB", ErrNoDraft)
	}
	return fmt.Errorf("%w: none came in full and in the OpenAI-compatible form", ErrUnavailable)
}
