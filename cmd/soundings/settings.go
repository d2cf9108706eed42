package main

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/caarlos0/env/v11"
	"github.com/redis/go-redis/v9"

	"soundings/bot/drafts"
	"soundings/bot/installs"
	"soundings/prompts"
)

// settings are what commands read from the environment.
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
	KeepEnded     string `env:"SOUNDINGS_KEEP_ENDED"`
	Listen        string `env:"SOUNDINGS_LISTEN"`
	RedisURL      string `env:"SOUNDINGS_REDIS_URL"`
	RedisWait     string `env:"SOUNDINGS_REDIS_WAIT"`
	AllowEviction string `env:"SOUNDINGS_ALLOW_EVICTION"`
	ModelURL      string `env:"SOUNDINGS_MODEL_URL"`
	Model         string `env:"SOUNDINGS_MODEL"`
	ModelKey      string `env:"SOUNDINGS_MODEL_KEY"`
	ModelPrices   string `env:"SOUNDINGS_MODEL_PRICES"`
	LogLevel      string `env:"SOUNDINGS_LOG_LEVEL"`

	unread error // what is wrong with the files that hold settings
}

// settingsHelp lists the settings for the help of the commands that read them.
const settingsHelp = `  SLACK_BOT_TOKEN       the bot token of the app (xoxb-…)
  SLACK_APP_TOKEN       for Socket Mode: an app-level token (xapp-…) with connections:write
  SLACK_SIGNING_SECRET  for HTTP: the signing secret of the app
  SOUNDINGS_LISTEN      for HTTP: the address to listen on, such as :8080;
                        with Socket Mode it serves only /healthz, /readyz and /metrics
  SOUNDINGS_REDIS_URL   the Redis that keeps the journal: redis://, rediss://,
                        redis+sentinel:// or redis+cluster://
  SOUNDINGS_REDIS_WAIT  how many replicas of Redis must have an answer before it is
                        acknowledged, so that a failover loses none (default 0)
  SOUNDINGS_ALLOW_EVICTION set to yes to start although Redis may throw kickoffs away
                        when its memory is full (maxmemory-policy allkeys-…)
  SOUNDINGS_PURGE_AFTER how long to keep what a workplace holds after it has taken the
                        app away: days as 30d, or hours as 72h (default 30d)
  SOUNDINGS_KEEP_ENDED  how long to keep a kickoff after its end, likewise (default 365d)
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
  SOUNDINGS_TOKEN_KEY_OLD the former key, until every bot was started with the new one
  SOUNDINGS_LOG_LEVEL   debug, info, warn or error (default info)

Whatever holds a secret may stand in a file: SLACK_BOT_TOKEN_FILE names the file that
holds SLACK_BOT_TOKEN, and so for SLACK_APP_TOKEN, SLACK_SIGNING_SECRET,
SLACK_CLIENT_SECRET, SOUNDINGS_TOKEN_KEY, SOUNDINGS_TOKEN_KEY_OLD, SOUNDINGS_REDIS_URL
and SOUNDINGS_MODEL_KEY.
`

// secrets are the settings that may stand in a file.
var secrets = []string{"SLACK_BOT_TOKEN", "SLACK_APP_TOKEN", "SLACK_SIGNING_SECRET", "SLACK_CLIENT_SECRET",
	"SOUNDINGS_TOKEN_KEY", "SOUNDINGS_TOKEN_KEY_OLD", "SOUNDINGS_REDIS_URL", "SOUNDINGS_MODEL_KEY"}

// readSettings reads the settings and checks nothing. Space around a value is
// dropped: a secret that was kept in a file mostly ends with a line break.
func readSettings(environ map[string]string) settings {
	trimmed := map[string]string{}
	for name, value := range environ {
		trimmed[name] = strings.TrimSpace(value)
	}
	var faults []error
	for _, name := range secrets {
		faults = append(faults, readSecret(trimmed, name))
	}
	s := env.Must(env.ParseAsWithOptions[settings](env.Options{Environment: trimmed})) // any text will do
	s.unread = wrong(errors.Join(faults...))
	return s
}

// longestSecret is far more than any secret has.
const longestSecret = 64 << 10

// readSecret sets a setting to what its file holds, where it has one.
func readSecret(environ map[string]string, name string) error {
	file := environ[name+"_FILE"]
	if file == "" {
		return nil
	}
	if environ[name] != "" {
		return fmt.Errorf("%s and %s_FILE are both set: keep one of them", name, name)
	}
	f, err := os.Open(file)
	if err != nil {
		return fmt.Errorf("%s_FILE: %w", name, err)
	}
	defer func() { _ = f.Close() }() // it was only read
	secret, err := io.ReadAll(io.LimitReader(f, longestSecret))
	if err != nil {
		return fmt.Errorf("%s_FILE: %w", name, err)
	}
	if environ[name] = strings.TrimSpace(string(secret)); environ[name] == "" {
		return fmt.Errorf("%s_FILE: %s is empty", name, file)
	}
	return nil
}

// logLevel is that of the log; Info where none, or none that there is, was set.
func (s settings) logLevel() slog.Level {
	level, _ := s.parseLevel()
	return level
}

func (s settings) parseLevel() (level slog.Level, err error) {
	if s.LogLevel == "" {
		return slog.LevelInfo, nil
	}
	if err := level.UnmarshalText([]byte(s.LogLevel)); err != nil {
		return slog.LevelInfo, errors.New("SOUNDINGS_LOG_LEVEL is no level: write debug, info, warn or error")
	}
	return level, nil
}

// redisPlace is the address of a Redis without the user and the password.
func redisPlace(address string) string {
	_, rest, _ := strings.Cut(address, "://")
	rest = rest[strings.LastIndex(rest, "@")+1:]
	place, _, _ := strings.Cut(rest, "?")
	return place
}

// socket reports whether payloads come over Socket Mode.
func (s settings) socket() bool { return s.AppToken != "" }

// installing reports whether workplaces install the app by themselves.
func (s settings) installing() bool { return s.ClientID != "" }

// apiURL ends in a slash, as the client library needs it.
func (s settings) apiURL() string {
	if s.APIURL == "" || strings.HasSuffix(s.APIURL, "/") {
		return s.APIURL
	}
	return s.APIURL + "/"
}

// A rule about a setting says what to do where it is broken.
type rule struct {
	broken bool
	says   string
}

// check reports all faults at once: nobody should have to start a server six
// times to learn six things. No message quotes a value, since each may be a
// secret in the wrong place.
func (s settings) check() error {
	var faults []error
	for _, rules := range slices.Concat(s.rules(), s.installRules()) {
		faults = append(faults, firstBroken(rules...))
	}
	_, grace := s.purgeAfter()
	_, keep := s.keepEnded()
	_, replicas := s.replicas()
	_, model := s.modelClient()
	_, level := s.parseLevel()
	return wrong(errors.Join(append(faults, s.unread, grace, keep, replicas, model, level)...))
}

// firstBroken is the fault of the first rule that is broken, of several about
// one thing: the others mostly follow from it.
func firstBroken(rules ...rule) error {
	if i := slices.IndexFunc(rules, func(r rule) bool { return r.broken }); i >= 0 {
		return errors.New(rules[i].says)
	}
	return nil
}

// rules are about what each bot needs.
func (s settings) rules() [][]rule {
	return [][]rule{{
		{s.installing() && s.BotToken != "", "SLACK_BOT_TOKEN and SLACK_CLIENT_ID are both set: keep the first for one workplace, or the second for several; one that was served so far installs the app once more then, and its kickoffs go on"},
		{!s.installing() && s.BotToken == "", "SLACK_BOT_TOKEN is missing: set it to the bot token of the app, which begins with xoxb-"},
		{lacksPrefix(s.BotToken, "xoxb-"), "SLACK_BOT_TOKEN is no bot token: those begin with xoxb-; copy it from the page OAuth & Permissions of the app"},
		{!isWord(s.BotToken), "SLACK_BOT_TOKEN holds a space, a quote or a sign that no token has: copy it once more"},
	}, {
		{lacksPrefix(s.AppToken, "xapp-"), "SLACK_APP_TOKEN is no app-level token: those begin with xapp- and need the scope connections:write; make one on the page Basic Information of the app"},
		{!isWord(s.AppToken), "SLACK_APP_TOKEN holds a space, a quote or a sign that no token has: copy it once more"},
	}, {
		{isToken(s.SigningSecret), "SLACK_SIGNING_SECRET holds a token: set it to the signing secret from the page Basic Information of the app"},
		{!isWord(s.SigningSecret), "SLACK_SIGNING_SECRET holds a space, a quote or a sign that no secret has: copy it once more"},
	}, {
		{s.AppToken == "" && s.SigningSecret == "", "there is no way in: set SLACK_APP_TOKEN for Socket Mode, or SLACK_SIGNING_SECRET with SOUNDINGS_LISTEN for HTTP"},
		{s.AppToken != "" && s.SigningSecret != "", "SLACK_APP_TOKEN and SLACK_SIGNING_SECRET are both set: keep the first for Socket Mode or the second for HTTP, since the platform uses one of them at a time"},
		{s.SigningSecret != "" && s.Listen == "", "SOUNDINGS_LISTEN is missing: set the address on which to wait for the platform, such as :8080"},
	}, {
		listenRule(s.Listen),
	}, {
		redisRule(s.RedisURL), // whether it can be read shows when it is opened
	}, {
		{s.AllowEviction != "" && s.AllowEviction != "yes", "SOUNDINGS_ALLOW_EVICTION is set and not to yes: set it to yes, or leave it out"},
	}, {
		{s.APIURL != "" && !isWebAddress(s.APIURL), "SLACK_API_URL is no address: write it as http://host:port/api/, or leave it out for the platform itself"},
		{holdsMore(s.APIURL), "SLACK_API_URL holds more than an address: write it as http://host:port/api/"},
	}}
}

func listenRule(address string) rule {
	_, port, _ := net.SplitHostPort(address) // an address that cannot be split has no port
	_, err := strconv.ParseUint(port, 10, 16)
	return rule{address != "" && err != nil, "SOUNDINGS_LISTEN is no address: write host:port or :port, such as :8080"}
}

func redisRule(address string) rule {
	return rule{address == "", "SOUNDINGS_REDIS_URL is missing: set it to the Redis that keeps the journal, such as redis://localhost:6379/0"}
}

// installRules are about what belongs to installing: it is there as a whole,
// or not at all.
func (s settings) installRules() [][]rule {
	if !s.installing() {
		const alone = " is set without SLACK_CLIENT_ID: set that too, so that several workplaces can install the app, or leave out both"
		return [][]rule{{
			{s.ClientSecret != "", "SLACK_CLIENT_SECRET" + alone},
			{s.TokenKey != "", "SOUNDINGS_TOKEN_KEY" + alone},
			{s.TokenKeyOld != "", "SOUNDINGS_TOKEN_KEY_OLD" + alone},
			{s.PublicURL != "", "SOUNDINGS_PUBLIC_URL" + alone},
		}}
	}
	const keys = "32 random bytes, as openssl rand -base64 32 prints them"
	_, key := installs.ParseKey(s.TokenKey)
	_, old := installs.ParseKey(s.TokenKeyOld)
	return [][]rule{{
		{!isWord(s.ClientID), "SLACK_CLIENT_ID holds a space, a quote or a sign that no id has: copy it once more from the page Basic Information of the app"},
		{s.ClientSecret == "", "SLACK_CLIENT_SECRET is missing: set it to the client secret from the page Basic Information of the app"},
		{isToken(s.ClientSecret), "SLACK_CLIENT_SECRET holds a token: set it to the client secret from the page Basic Information of the app"},
		{!isWord(s.ClientSecret), "SLACK_CLIENT_SECRET holds a space, a quote or a sign that no secret has: copy it once more"},
	}, {
		{s.TokenKey == "", "SOUNDINGS_TOKEN_KEY is missing: set it to " + keys + ", and keep a copy; without it every workplace has to install the app again"},
		{key != nil, "SOUNDINGS_TOKEN_KEY is no key: set it to " + keys},
	}, {
		{s.TokenKeyOld != "" && old != nil, "SOUNDINGS_TOKEN_KEY_OLD is no key: set it to the former SOUNDINGS_TOKEN_KEY, or leave it out"},
		{s.TokenKeyOld != "" && s.TokenKeyOld == s.TokenKey, "SOUNDINGS_TOKEN_KEY_OLD is the same as SOUNDINGS_TOKEN_KEY: set SOUNDINGS_TOKEN_KEY to a new key, or leave the old one out"},
	}, {
		{s.PublicURL == "", "SOUNDINGS_PUBLIC_URL is missing: set it to the address at which people reach this bot, such as https://soundings.example.com"},
		{!isPublic(s.PublicURL), "SOUNDINGS_PUBLIC_URL is no public address: write it as https://soundings.example.com; http:// is for localhost alone"},
	}, {
		// over HTTP it is missed in any case
		{s.Listen == "" && s.socket(), "SOUNDINGS_LISTEN is missing: set the address on which people reach the install page, such as :8080"},
	}}
}

func lacksPrefix(value, prefix string) bool { return value != "" && !strings.HasPrefix(value, prefix) }

func isToken(value string) bool {
	return strings.HasPrefix(value, "xox") || strings.HasPrefix(value, "xapp-")
}

// isWord reports whether text can be a token or secret: visible ASCII without
// quotes, which slip in where a file of settings is not read by a shell.
func isWord(text string) bool {
	return !strings.ContainsFunc(text, func(r rune) bool { return r <= ' ' || r > '~' || r == '"' || r == '\'' })
}

func isWebAddress(text string) bool {
	u, err := url.Parse(text)
	return err == nil && u.Host != "" && (u.Scheme == "http" || u.Scheme == "https")
}

// holdsMore reports whether an address holds a user, a query or a fragment.
func holdsMore(text string) bool {
	u, err := url.Parse(text)
	return err == nil && (u.User != nil || u.RawQuery != "" || u.Fragment != "")
}

// isPublic wants TLS, since a token travels that way; on this machine an
// address may do without, for a rehearsal.
func isPublic(text string) bool {
	u, err := url.Parse(text)
	if err != nil || !isWebAddress(text) || holdsMore(text) {
		return false
	}
	return u.Scheme == "https" || isHere(u.Hostname())
}

func isHere(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

const day = 24 * time.Hour

// purgeAfter reads SOUNDINGS_PURGE_AFTER. A slip must be mendable, and for ever
// is no grace.
func (s settings) purgeAfter() (time.Duration, error) {
	return keepFor("SOUNDINGS_PURGE_AFTER", s.PurgeAfter, 30*day, 365*day)
}

// keepEnded reads SOUNDINGS_KEEP_ENDED.
func (s settings) keepEnded() (time.Duration, error) {
	return keepFor("SOUNDINGS_KEEP_ENDED", s.KeepEnded, 365*day, 3650*day)
}

// keepFor reads a setting that holds days as 30d, or hours as 72h.
func keepFor(setting, text string, usual, most time.Duration) (time.Duration, error) {
	if text == "" {
		return usual, nil
	}
	unit, number := time.Hour, strings.TrimSuffix(text, "h")
	if days, ok := strings.CutSuffix(text, "d"); ok {
		unit, number = day, days
	}
	n, err := strconv.ParseUint(number, 10, 16)
	d := time.Duration(n) * unit
	if err != nil || number == text || d < time.Hour || d > most {
		return 0, fmt.Errorf("%s is no time that can be kept: write days as 30d or hours as 72h, from 1h to %dd", setting, most/day)
	}
	return d, nil
}

// replicas reads SOUNDINGS_REDIS_WAIT.
func (s settings) replicas() (int, error) {
	if s.RedisWait == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(s.RedisWait)
	if err != nil || n < 0 || n > 9 {
		return 0, errors.New("SOUNDINGS_REDIS_WAIT is no number of replicas: set it to a number from 0 to 9, such as 1")
	}
	return n, nil
}

// modelSettings says where the fields of prompts.Config are set.
var modelSettings = map[string]string{"URL": "SOUNDINGS_MODEL_URL", "Model": "SOUNDINGS_MODEL", "Key": "SOUNDINGS_MODEL_KEY"}

// modelClient makes the client that drafts, which knows what makes a usable
// model; nil where none is set up.
func (s settings) modelClient() (*prompts.Client, error) {
	prices, err := prompts.ParsePrices(s.ModelPrices)
	if err != nil {
		return nil, wrongf("SOUNDINGS_MODEL_PRICES: %w", err)
	}
	client, err := prompts.New(prompts.Config{URL: s.ModelURL, Model: s.Model, Key: s.ModelKey, Prices: prices})
	fault, unusable := errors.AsType[*prompts.ConfigError](err)
	switch off := errors.Is(err, prompts.ErrOff); {
	case unusable:
		return nil, wrongf("%s: %s", modelSettings[fault.Field], fault.Fix)
	case off && s.ModelKey != "":
		return nil, wrongf("SOUNDINGS_MODEL_KEY is set without a model: set SOUNDINGS_MODEL_URL and SOUNDINGS_MODEL too, or leave out all three")
	case off:
		return nil, nil
	}
	return client, err
}

// drafter is the model that is set up, or nil: an interface that holds no
// client would not be off.
func (s settings) drafter() (drafts.Drafter, error) {
	client, err := s.modelClient()
	if client == nil {
		return nil, err
	}
	return client, nil
}

// installStore opens what workplaces have installed; nil where one token
// serves.
func (s settings) installStore(rdb redis.UniversalClient) (*installs.Store, error) {
	if !s.installing() {
		return nil, nil
	}
	keys, err := installs.NewKeys(s.TokenKey, s.TokenKeyOld)
	if err != nil {
		return nil, err
	}
	return installs.New(rdb, keys), nil
}

// installPage is where a workplace installs the app; empty where one token
// serves.
func (s settings) installPage() string {
	if !s.installing() {
		return ""
	}
	return strings.TrimRight(s.PublicURL, "/") + installs.InstallPath
}
