package prompts

import (
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"time"
	"unicode"
)

// DefaultTimeout is how long one draft may take in all, a second attempt
// included.
const DefaultTimeout = 20 * time.Second

// Config says which model drafts. The zero Config is drafting switched off.
type Config struct {
	// URL is the address of an OpenAI-compatible server up to and including
	// the version, such as "http://127.0.0.1:8080/v1". Nothing is ever sent
	// elsewhere: a redirect is refused.
	URL string

	Model string // as the server names it
	Key   string // sent as a bearer token; none is sent when empty

	// Prices turn the tokens of a draft into what it cost.
	Prices Prices

	// Timeout bounds each draft in all. 0 means [DefaultTimeout].
	Timeout time.Duration

	// HTTPClient is used for its transport and cookies; nil means
	// [http.DefaultClient]. The client itself is not changed.
	HTTPClient *http.Client
}

// A ConfigError tells which field of a [Config] cannot be used, and how to fix it.
// It never holds the value: an address may carry a secret.
type ConfigError struct {
	Field string // "URL", "Model", "Key" or "Timeout"
	Fix   string // a sentence
}

func (e *ConfigError) Error() string { return "drafting: " + e.Field + ": " + e.Fix }

// A Client drafts. Any number of goroutines may use one at once; it keeps
// nothing of what it sends or reads. The nil Client is drafting switched off:
// it answers everything with [ErrOff].
type Client struct {
	base    *url.URL
	model   string
	key     string
	timeout time.Duration
	prices  Prices
	http    *http.Client
	plain   atomic.Bool // the server takes no response format
}

// New makes a client. With neither URL nor Model it returns a nil client and
// [ErrOff]; a Config that is only half given, or wrong, is a [*ConfigError].
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
	if c.Timeout == 0 {
		c.Timeout = DefaultTimeout
	}
	return &Client{base: base, model: c.Model, key: c.Key, timeout: c.Timeout, prices: c.Prices, http: sameAddress(c.HTTPClient)}, nil
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
	case c.Timeout < 0:
		return nil, &ConfigError{"Timeout", "A time limit cannot be negative. Leave it out for 20 seconds."}
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
// given. It is empty when drafting is off.
func (c *Client) Host() string {
	if c == nil {
		return ""
	}
	return c.base.Host
}

// Model is the model that drafts, as the server names it; empty when drafting
// is off.
func (c *Client) Model() string {
	if c == nil {
		return ""
	}
	return c.model
}
