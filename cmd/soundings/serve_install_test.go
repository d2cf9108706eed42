package main

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/installs"
	"soundings/bot/journal/storetest"
)

// startInstalling serves a workspace in which nobody has installed the app.
func startInstalling(t *testing.T, redisURL string) *served {
	t.Helper()
	r := &served{log: &lockedBuffer{}, posted: make(chan struct{}, 100), ended: make(chan error, 1)}
	r.workspace = fakeslack.NewTeam(fakeslack.Config{SigningSecret: madeUpSecret, ClientID: "1.2", ClientSecret: "made-up-client-6"})
	t.Cleanup(r.workspace.Close)
	platform := httptest.NewServer(r.workspace.Handler())
	t.Cleanup(platform.Close)
	r.populate()
	s := goodSettings(t, changed(installEnviron(), "SLACK_API_URL="+platform.URL+"/api", "SOUNDINGS_REDIS_URL="+redisURL,
		"SOUNDINGS_PUBLIC_URL=http://127.0.0.1:8080"))
	r.start(t, s)
	return r
}

// install goes the way of a browser; the public address is not the one on
// which a test listens, so that is where it comes back to.
func (r *served) install(t *testing.T) (page string) {
	t.Helper()
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	browser := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	begun, err := browser.Get("http://" + r.service.address() + installs.InstallPath)
	require.NoError(t, err)
	begun.Body.Close()
	back, err := slacktest.Consent(browser, begun.Header.Get("Location"), r.workspace.TeamID())
	require.NoError(t, err)
	back.Host = r.service.address()
	end, err := browser.Get(back.String())
	require.NoError(t, err)
	defer end.Body.Close()
	body, err := io.ReadAll(end.Body)
	require.NoError(t, err)
	return string(body)
}

// TestServeInstalls installs the app, runs a kickoff, takes the app away and
// puts it back, over the network and with Redis itself, and searches the log
// and Redis for the token.
func TestServeInstalls(t *testing.T) {
	t.Parallel()
	url := storetest.Server(t)
	r := startInstalling(t, url)
	require.Contains(t, r.install(t), "Soundings is in Rehearsal", "the page says")
	token := r.workspace.App.Installation().Token
	r.startKickoff(t)
	r.awaitMessage(t, "Bicycles on the Ferry")
	rdb := storetest.Client(t, url)
	require.NoError(t, r.workspace.App.Uninstall(t.Context()))
	teams, err := installs.New(rdb, nil).Teams(t.Context())
	assert.NoError(t, err, "tokens are left of")
	assert.Empty(t, teams, "tokens are left of")
	require.NoError(t, r.workspace.Client.Command(t.Context(), r.lead, r.channel, "/soundings", "hours"))
	_, open := r.workspace.Client.TopView(r.lead)
	assert.False(t, open, "a form opened in a workplace that has taken the app away")
	r.install(t)
	require.NoError(t, r.workspace.Client.Command(t.Context(), r.lead, r.channel, "/soundings", "hours"))
	_, open = r.workspace.Client.TopView(r.lead)
	assert.True(t, open, "no form opened after it was put back; the log:\n%s", r.log)
	for _, secret := range []string{token, r.workspace.App.Installation().Token, "made-up-client-6", madeUpSeal} {
		assert.NotContains(t, r.log.String(), secret, "the log gives away")
		for _, key := range rdb.Keys(t.Context(), "*").Val() {
			assert.NotContains(t, rdb.Dump(t.Context(), key).Val(), secret, "%s gives away", key)
		}
	}
}

// Keys that open nothing of what is stored are told of, by the program and by
// check, and workplaces can install the app again; the former key mends it, and is
// not needed afterwards. Check changes nothing, so a bot with the former key works on.
func TestTokenKeys(t *testing.T) {
	t.Parallel()
	url := storetest.Embedded(t)
	rdb := storetest.Client(t, url)
	former, err := installs.NewKeys(madeUpSealOld, "")
	require.NoError(t, err)
	require.NoError(t, installs.New(rdb, former).Save(t.Context(), installs.Install{Team: "T1", Token: madeUpBot}))
	var log bytes.Buffer
	start := func(changes ...string) error {
		s := goodSettings(t, changed(installEnviron(), append(changes, "SOUNDINGS_REDIS_URL="+url)...))
		p, err := newService(t.Context(), s, rdb, slog.New(slog.NewTextHandler(&log, nil)))
		if err == nil {
			_ = p.listener.Close() // it was not served
		}
		return err
	}
	says := func(want string, changes ...string) {
		t.Helper()
		s := goodSettings(t, changed(installEnviron(), append([]string{"SOUNDINGS_REDIS_URL=" + url, "SLACK_API_URL=http://127.0.0.1:1/api/"}, changes...)...))
		k := checkup{settings: s}
		k.examineInstalls(t.Context(), rdb)
		assert.True(t, slices.ContainsFunc(k.findings, func(f finding) bool { return strings.Contains(f.Text, want) }), "check says %+v, want %q", k.findings, want)
	}
	const mend = "SOUNDINGS_TOKEN_KEY does not open the tokens of T1: put the key"
	says(mend)
	assert.NoError(t, start(), "with another key it stays up for installing")
	assert.Contains(t, log.String(), mend)
	assert.Contains(t, log.String(), "let these workplaces install the app again at https://bot.example/slack/install")
	says("1 of 1 tokens are sealed with the old key", "SOUNDINGS_TOKEN_KEY_OLD="+madeUpSealOld)
	_, err = installs.New(rdb, former).Get(t.Context(), "T1")
	assert.NoError(t, err, "a bot with the former key, after check")
	assert.NoError(t, start("SOUNDINGS_TOKEN_KEY_OLD="+madeUpSealOld), "with the former key")
	says("SOUNDINGS_TOKEN_KEY_OLD is not needed any more", "SOUNDINGS_TOKEN_KEY_OLD="+madeUpSealOld)
	assert.NoError(t, start(), "without it, afterwards")
	says("no Web API at SLACK_API_URL: ")
	platform := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = w.Write([]byte(`{"ok":false,"error":"token_revoked"}`))
	}))
	defer platform.Close()
	says("its token is not taken: let it install the app again at https://bot.example/slack/install", "SLACK_API_URL="+platform.URL+"/api/")
}
