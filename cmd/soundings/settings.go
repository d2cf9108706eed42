package main

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"strconv"
	"strings"

	"github.com/caarlos0/env/v11"

	"soundings/prompts"
)

// settings are what serve and check read from the environment.
type settings struct {
	BotToken      string `env:"SLACK_BOT_TOKEN"`
	AppToken      string `env:"SLACK_APP_TOKEN"`
	SigningSecret string `env:"SLACK_SIGNING_SECRET"`
	APIURL        string `env:"SLACK_API_URL"`
	ClientID      string `env:"SLACK_CLIENT_ID"`
	ClientSecret  string `env:"SLACK_CLIENT_SECRET"`
	TokenKey      string `env:"SOUNDINGS_TOKEN_KEY"`
	TokenKeyOld   string `env:"SOUNDINGS_TOKEN_KEY_OLD"`
	PublicURL     string `env:"SOUNDINGS_PUBLIC_URL"`
	PurgeAfter    string `env:"SOUNDINGS_PURGE_AFTER"`
	Listen        string `env:"SOUNDINGS_LISTEN"`
	RedisURL      string `env:"SOUNDINGS_REDIS_URL"`
	ModelURL      string `env:"SOUNDINGS_MODEL_URL"`
	Model         string `env:"SOUNDINGS_MODEL"`
	ModelKey      string `env:"SOUNDINGS_MODEL_KEY"`
	ModelPrices   string `env:"SOUNDINGS_MODEL_PRICES"`
}

// settingsHelp lists the settings for the help of the commands that read them.
const settingsHelp = `  SLACK_BOT_TOKEN       the bot token of the app (xoxb-…)
  SLACK_APP_TOKEN       for Socket Mode: an app-level token (xapp-…) with connections:write
  SLACK_SIGNING_SECRET  for HTTP: the signing secret of the app
  SOUNDINGS_LISTEN      for HTTP: the address to listen on, such as :8080;
                        with Socket Mode it serves only /healthz, /readyz and /metrics
  SOUNDINGS_REDIS_URL   the Redis that keeps the journal: redis://, rediss://,
                        redis+sentinel:// or redis+cluster://
  SOUNDINGS_PURGE_AFTER how long to keep what a workplace holds after it has taken the
                        app away: days as 30d, or hours as 72h (default 30d)
  SLACK_API_URL         another Web API address: that of soundings rehearse --bot, to try the settings
  SOUNDINGS_MODEL_URL   for drafts: an OpenAI-compatible address, mostly ending in /v1
  SOUNDINGS_MODEL       for drafts: the model, as that server names it
  SOUNDINGS_MODEL_KEY   for drafts: the key, where the server wants one
  SOUNDINGS_MODEL_PRICES for drafts: what a million tokens cost, sent and received,
                        such as 0.15/0.60, so that /metrics counts the cost
  SLACK_CLIENT_ID       for several workplaces, which install the app by themselves: the
                        client id of the app, in the place of SLACK_BOT_TOKEN
  SLACK_CLIENT_SECRET   … and its client secret
  SOUNDINGS_PUBLIC_URL  … the https address at which people reach this bot
  SOUNDINGS_TOKEN_KEY   … the key that seals their tokens in Redis: 32 random bytes,
                        as openssl rand -base64 32 prints them
  SOUNDINGS_TOKEN_KEY_OLD the former key, for the first start with a new one
`

// socket reports whether payloads come over Socket Mode.
func (s settings) socket() bool { return s.AppToken != "" }

// drafting reports whether a model is configured.
func (s settings) drafting() bool { return s.ModelURL != "" }

// apiURL ends in a slash, as the client library needs it.
func (s settings) apiURL() string {
	if s.APIURL == "" || strings.HasSuffix(s.APIURL, "/") {
		return s.APIURL
	}
	return s.APIURL + "/"
}

// environment reads name=value pairs. Space around a value is dropped: a
// secret that was kept in a file mostly ends with a line break.
func environment(pairs []string) map[string]string {
	all := map[string]string{}
	for _, pair := range pairs {
		name, value, _ := strings.Cut(pair, "=")
		all[name] = strings.TrimSpace(value)
	}
	return all
}

// parseSettings reads the settings and checks nothing.
func parseSettings(environ map[string]string) (settings, error) {
	var s settings
	if err := env.ParseWithOptions(&s, env.Options{Environment: environ}); err != nil {
		return s, wrong(err)
	}
	return s, nil
}

// readSettings reads and checks everything, and reports all faults at once:
// nobody should have to start a server six times to learn six things. No
// message quotes a value, since each may be a secret in the wrong place.
func readSettings(environ map[string]string) (settings, error) {
	s, err := parseSettings(environ)
	if err != nil {
		return s, err
	}
	err = errors.Join(s.checkBotToken(), s.checkAppToken(), s.checkSecret(), s.checkWay(), s.checkListen(), s.checkRedis(), s.checkAPI(), s.checkInstall(), s.checkPurge(), s.checkModel())
	if err != nil {
		return s, wrong(err)
	}
	return s, nil
}

func (s settings) checkBotToken() error {
	switch {
	case s.installing() && s.BotToken != "":
		return errors.New("SLACK_BOT_TOKEN and SLACK_CLIENT_ID are both set: keep the first for one workplace, or the second for several; one that was served so far installs the app once more then, and its kickoffs go on")
	case s.installing():
		return nil
	case s.BotToken == "":
		return errors.New("SLACK_BOT_TOKEN is missing: set it to the bot token of the app, which begins with xoxb-")
	case !strings.HasPrefix(s.BotToken, "xoxb-"):
		return errors.New("SLACK_BOT_TOKEN is no bot token: those begin with xoxb-; copy it from the page OAuth & Permissions of the app")
	case !isWord(s.BotToken):
		return errors.New("SLACK_BOT_TOKEN holds a space, a quote or a sign that no token has: copy it once more")
	}
	return nil
}

func (s settings) checkAppToken() error {
	switch {
	case s.AppToken == "":
		return nil
	case !strings.HasPrefix(s.AppToken, "xapp-"):
		return errors.New("SLACK_APP_TOKEN is no app-level token: those begin with xapp- and need the scope connections:write; make one on the page Basic Information of the app")
	case !isWord(s.AppToken):
		return errors.New("SLACK_APP_TOKEN holds a space, a quote or a sign that no token has: copy it once more")
	}
	return nil
}

func (s settings) checkSecret() error {
	if strings.HasPrefix(s.SigningSecret, "xox") || strings.HasPrefix(s.SigningSecret, "xapp-") {
		return errors.New("SLACK_SIGNING_SECRET holds a token: set it to the signing secret from the page Basic Information of the app")
	}
	if !isWord(s.SigningSecret) {
		return errors.New("SLACK_SIGNING_SECRET holds a space, a quote or a sign that no secret has: copy it once more")
	}
	return nil
}

// isWord reports whether text can be a token or secret: visible ASCII without
// quotes, which slip in where a file of settings is not read by a shell.
func isWord(text string) bool {
	return !strings.ContainsFunc(text, func(r rune) bool { return r <= ' ' || r > '~' || r == '"' || r == '\'' })
}

// checkWay sees that there is one way in.
func (s settings) checkWay() error {
	switch {
	case s.AppToken == "" && s.SigningSecret == "":
		return errors.New("there is no way in: set SLACK_APP_TOKEN for Socket Mode, or SLACK_SIGNING_SECRET with SOUNDINGS_LISTEN for HTTP")
	case s.AppToken != "" && s.SigningSecret != "":
		return errors.New("SLACK_APP_TOKEN and SLACK_SIGNING_SECRET are both set: keep the first for Socket Mode or the second for HTTP, since the platform uses one of them at a time")
	case s.SigningSecret != "" && s.Listen == "":
		return errors.New("SOUNDINGS_LISTEN is missing: set the address on which to wait for the platform, such as :8080")
	}
	return nil
}

func (s settings) checkListen() error {
	if s.Listen == "" {
		return nil
	}
	_, port, err := net.SplitHostPort(s.Listen)
	if n, bad := strconv.ParseUint(port, 10, 16); err != nil || bad != nil || n > 65535 {
		return errors.New("SOUNDINGS_LISTEN is no address: write host:port or :port, such as :8080")
	}
	return nil
}

func (s settings) checkRedis() error {
	if s.RedisURL == "" {
		return errors.New("SOUNDINGS_REDIS_URL is missing: set it to the Redis that keeps the journal, such as redis://localhost:6379/0")
	}
	return nil // whether it can be read shows when it is opened
}

func (s settings) checkAPI() error {
	if s.APIURL == "" {
		return nil
	}
	u, err := url.Parse(s.APIURL)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
		return errors.New("SLACK_API_URL is no address: write it as http://host:port/api/, or leave it out for the platform itself")
	}
	if u.User != nil || u.RawQuery != "" || u.Fragment != "" {
		return errors.New("SLACK_API_URL holds more than an address: write it as http://host:port/api/")
	}
	return nil
}

// checkModel leaves what makes a usable model to the client that drafts.
func (s settings) checkModel() error {
	_, err := s.modelClient()
	var fault *prompts.ConfigError
	switch {
	case errors.As(err, &fault):
		name, known := modelSettings()[fault.Field]
		if !known {
			return fault
		}
		return fmt.Errorf("%s: %s", name, fault.Fix)
	case errors.Is(err, prompts.ErrOff) && s.ModelKey != "":
		return errors.New("SOUNDINGS_MODEL_KEY is set without a model: set SOUNDINGS_MODEL_URL and SOUNDINGS_MODEL too, or leave out all three")
	case errors.Is(err, prompts.ErrOff):
		return nil
	}
	return err
}

// modelClient makes the client that drafts; with nothing set up it is
// prompts.ErrOff.
func (s settings) modelClient() (*prompts.Client, error) {
	prices, err := prompts.ParsePrices(s.ModelPrices)
	if err != nil {
		return nil, fmt.Errorf("SOUNDINGS_MODEL_PRICES: %w", err)
	}
	return prompts.New(prompts.Config{URL: s.ModelURL, Model: s.Model, Key: s.ModelKey, Prices: prices})
}

// modelSettings says where the fields of prompts.Config are set.
func modelSettings() map[string]string {
	return map[string]string{"URL": "SOUNDINGS_MODEL_URL", "Model": "SOUNDINGS_MODEL", "Key": "SOUNDINGS_MODEL_KEY"}
}
