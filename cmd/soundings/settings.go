package main

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"strings"

	"github.com/caarlos0/env/v11"
)

// settings are what serve reads from the environment.
type settings struct {
	BotToken      string `env:"SLACK_BOT_TOKEN"`
	AppToken      string `env:"SLACK_APP_TOKEN"`
	SigningSecret string `env:"SLACK_SIGNING_SECRET"`
	APIURL        string `env:"SLACK_API_URL"`
	Listen        string `env:"SOUNDINGS_LISTEN"`
	RedisURL      string `env:"SOUNDINGS_REDIS_URL"`
}

// socket reports whether payloads come over Socket Mode.
func (s settings) socket() bool { return s.AppToken != "" }

// readSettings reads and checks everything, and reports all faults at once:
// nobody should have to start a server six times to learn six things.
func readSettings(environ map[string]string) (settings, error) {
	var s settings
	if err := env.ParseWithOptions(&s, env.Options{Environment: environ}); err != nil {
		return s, wrong(err)
	}
	faults := []error{s.checkTokens(), s.checkWay(), s.checkAddresses()}
	if err := errors.Join(faults...); err != nil {
		return s, wrong(err)
	}
	return s, nil
}

func (s settings) checkTokens() error {
	var faults []error
	switch {
	case s.BotToken == "":
		faults = append(faults, errors.New("SLACK_BOT_TOKEN is missing: set it to the bot token of the app, which begins with xoxb-"))
	case !strings.HasPrefix(s.BotToken, "xoxb-"):
		faults = append(faults, errors.New("SLACK_BOT_TOKEN is not a bot token: those begin with xoxb-"))
	}
	if s.AppToken != "" && !strings.HasPrefix(s.AppToken, "xapp-") {
		faults = append(faults, errors.New("SLACK_APP_TOKEN is not an app-level token: those begin with xapp- and need the scope connections:write"))
	}
	return errors.Join(faults...)
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

func (s settings) checkAddresses() error {
	var faults []error
	if s.RedisURL == "" {
		faults = append(faults, errors.New("SOUNDINGS_REDIS_URL is missing: set it to the Redis that keeps the journal, such as redis://localhost:6379/0"))
	}
	if s.Listen != "" {
		if _, _, err := net.SplitHostPort(s.Listen); err != nil {
			faults = append(faults, fmt.Errorf("SOUNDINGS_LISTEN is no address: write host:port or :port, such as :8080"))
		}
	}
	if s.APIURL != "" {
		u, err := url.Parse(s.APIURL)
		if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
			faults = append(faults, errors.New("SLACK_API_URL is no address: write it as http://host:port/api/"))
		}
	}
	return errors.Join(faults...)
}

// apiURL ends in a slash, as the client library needs it.
func (s settings) apiURL() string {
	if s.APIURL == "" || strings.HasSuffix(s.APIURL, "/") {
		return s.APIURL
	}
	return s.APIURL + "/"
}
