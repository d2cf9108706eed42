package main

import (
	"errors"
	"net"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"

	"soundings/bot/installs"
)

// installing reports whether workplaces install the app by themselves.
func (s settings) installing() bool { return s.ClientID != "" }

// checkInstall sees that what belongs to installing is there as a whole, or
// not at all.
func (s settings) checkInstall() error {
	if !s.installing() {
		for _, extra := range []struct{ name, value string }{{"SLACK_CLIENT_SECRET", s.ClientSecret}, {"SOUNDINGS_TOKEN_KEY", s.TokenKey},
			{"SOUNDINGS_TOKEN_KEY_OLD", s.TokenKeyOld}, {"SOUNDINGS_PUBLIC_URL", s.PublicURL}} {
			if extra.value != "" {
				return errors.New(extra.name + " is set without SLACK_CLIENT_ID: set that too, so that several workplaces can install the app, or leave out both")
			}
		}
		return nil
	}
	faults := []error{s.checkClient(), s.checkTokenKeys(), s.checkPublic()}
	if s.Listen == "" && s.AppToken != "" { // over HTTP it is missed in any case
		faults = append(faults, errors.New("SOUNDINGS_LISTEN is missing: set the address on which people reach the install page, such as :8080"))
	}
	return errors.Join(faults...)
}

func (s settings) checkClient() error {
	switch {
	case !isWord(s.ClientID):
		return errors.New("SLACK_CLIENT_ID holds a space, a quote or a sign that no id has: copy it once more from the page Basic Information of the app")
	case s.ClientSecret == "":
		return errors.New("SLACK_CLIENT_SECRET is missing: set it to the client secret from the page Basic Information of the app")
	case strings.HasPrefix(s.ClientSecret, "xox"), strings.HasPrefix(s.ClientSecret, "xapp-"):
		return errors.New("SLACK_CLIENT_SECRET holds a token: set it to the client secret from the page Basic Information of the app")
	case !isWord(s.ClientSecret):
		return errors.New("SLACK_CLIENT_SECRET holds a space, a quote or a sign that no secret has: copy it once more")
	}
	return nil
}

const howToMakeKeys = "32 random bytes, as openssl rand -base64 32 prints them"

func (s settings) checkTokenKeys() error {
	var faults []error
	switch _, err := installs.ParseKey(s.TokenKey); {
	case s.TokenKey == "":
		faults = append(faults, errors.New("SOUNDINGS_TOKEN_KEY is missing: set it to "+howToMakeKeys+", and keep a copy; without it every workplace has to install the app again"))
	case err != nil:
		faults = append(faults, errors.New("SOUNDINGS_TOKEN_KEY is no key: set it to "+howToMakeKeys))
	}
	switch _, err := installs.ParseKey(s.TokenKeyOld); {
	case s.TokenKeyOld == "":
	case err != nil:
		faults = append(faults, errors.New("SOUNDINGS_TOKEN_KEY_OLD is no key: set it to the former SOUNDINGS_TOKEN_KEY, or leave it out"))
	case s.TokenKeyOld == s.TokenKey:
		faults = append(faults, errors.New("SOUNDINGS_TOKEN_KEY_OLD is the same as SOUNDINGS_TOKEN_KEY: set SOUNDINGS_TOKEN_KEY to a new key, or leave the old one out"))
	}
	return errors.Join(faults...)
}

// checkPublic wants TLS, since a token travels that way; on this machine it
// may do without, for a rehearsal.
func (s settings) checkPublic() error {
	if s.PublicURL == "" {
		return errors.New("SOUNDINGS_PUBLIC_URL is missing: set it to the address at which people reach this bot, such as https://soundings.example.com")
	}
	u, err := url.Parse(s.PublicURL)
	if err != nil || u.Host == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" || u.Scheme != "https" && (u.Scheme != "http" || !isHere(u.Hostname())) {
		return errors.New("SOUNDINGS_PUBLIC_URL is no public address: write it as https://soundings.example.com; http:// is for localhost alone")
	}
	return nil
}

func isHere(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// The bounds of SOUNDINGS_PURGE_AFTER: a slip must be mendable, and for ever
// is no grace.
const (
	defaultPurge = 30 * 24 * time.Hour
	leastPurge   = time.Hour
	mostPurge    = 365 * 24 * time.Hour
)

// purgeAfter reads SOUNDINGS_PURGE_AFTER: days as 30d, or hours as 72h.
func (s settings) purgeAfter() (time.Duration, error) {
	if s.PurgeAfter == "" {
		return defaultPurge, nil
	}
	unit, number := time.Hour, strings.TrimSuffix(s.PurgeAfter, "h")
	if days, ok := strings.CutSuffix(s.PurgeAfter, "d"); ok {
		unit, number = 24*time.Hour, days
	}
	n, err := strconv.ParseUint(number, 10, 16)
	d := time.Duration(n) * unit
	if err != nil || number == s.PurgeAfter || d < leastPurge || d > mostPurge {
		return 0, errors.New("SOUNDINGS_PURGE_AFTER is no time that can be kept: write days as 30d or hours as 72h, from 1h to 365d")
	}
	return d, nil
}

func (s settings) checkPurge() error {
	_, err := s.purgeAfter()
	return err
}

// installStore opens what workplaces have installed; nil where one token
// serves. The settings were checked.
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
