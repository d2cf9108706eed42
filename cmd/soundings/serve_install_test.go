package main

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"soundings/bot/fakeslack"
	"soundings/bot/fakeslack/slacktest"
	"soundings/bot/installs"
	"soundings/bot/journal"
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
	s, err := readSettings(changed(installEnviron(), "SLACK_API_URL="+platform.URL+"/api", "SOUNDINGS_REDIS_URL="+redisURL,
		"SOUNDINGS_PUBLIC_URL=http://127.0.0.1:8080"))
	if err != nil {
		t.Fatal(err)
	}
	r.start(t, s)
	return r
}

// install goes the way of a browser; the public address is not the one on
// which a test listens, so that is where it comes back to.
func (r *served) install(t *testing.T) (page string) {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	browser := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	begun, err := browser.Get("http://" + r.service.address() + installs.InstallPath)
	if err != nil {
		t.Fatal(err)
	}
	begun.Body.Close()
	back, err := slacktest.Consent(browser, begun.Header.Get("Location"), r.workspace.TeamID())
	if err != nil {
		t.Fatal(err)
	}
	back.Host = r.service.address()
	end, err := browser.Get(back.String())
	if err != nil {
		t.Fatal(err)
	}
	defer end.Body.Close()
	body, err := io.ReadAll(end.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(body)
}

// TestServeInstalls installs the app, runs a kickoff, takes the app away and
// puts it back, over the network and with Redis itself, and searches the log
// and Redis for the token.
func TestServeInstalls(t *testing.T) {
	url := storetest.Server(t)
	r := startInstalling(t, url)
	if page := r.install(t); !strings.Contains(page, "Soundings is in Rehearsal") {
		t.Fatalf("the page says:\n%s", page)
	}
	token := r.workspace.Installation().Token
	r.startKickoff(t)
	r.awaitMessage(t, "Bicycles on the Ferry")
	rdb := storetest.Client(t, url)
	if err := r.workspace.Uninstall(t.Context()); err != nil {
		t.Fatal(err)
	}
	if teams, err := installs.New(rdb, nil, "").Teams(t.Context()); err != nil || len(teams) > 0 {
		t.Errorf("tokens are left of %v, %v", teams, err)
	}
	if err := r.workspace.Command(t.Context(), r.lead, r.channel, "/soundings", "hours"); err != nil {
		t.Fatal(err)
	}
	if _, open := r.workspace.TopView(r.lead); open {
		t.Error("a form opened in a workplace that has taken the app away")
	}
	r.install(t)
	if err := r.workspace.Command(t.Context(), r.lead, r.channel, "/soundings", "hours"); err != nil {
		t.Fatal(err)
	}
	if _, open := r.workspace.TopView(r.lead); !open {
		t.Errorf("no form opened after it was put back; the log:\n%s", r.log)
	}
	for _, secret := range []string{token, r.workspace.Installation().Token, "made-up-client-6", madeUpSeal} {
		if strings.Contains(r.log.String(), secret) {
			t.Errorf("the log gives away %q", secret)
		}
		for _, key := range rdb.Keys(t.Context(), "*").Val() {
			if dump := rdb.Dump(t.Context(), key).Val(); strings.Contains(dump, secret) {
				t.Errorf("%s gives away %q", key, secret)
			}
		}
	}
}

// Keys that open nothing of what is stored stop the program, and check says
// the same; the former key mends it, and is not needed afterwards.
func TestTokenKeys(t *testing.T) {
	url := storetest.Embedded(t)
	rdb := storetest.Client(t, url)
	former, err := installs.NewKeys(madeUpSealOld, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := installs.New(rdb, former, "").Save(t.Context(), installs.Install{Team: "T1", Token: madeUpBot}); err != nil {
		t.Fatal(err)
	}
	start := func(changes ...string) error {
		s, err := readSettings(changed(installEnviron(), append(changes, "SOUNDINGS_REDIS_URL="+url)...))
		if err != nil {
			t.Fatal(err)
		}
		p, err := newService(t.Context(), s, rdb, slog.New(slog.DiscardHandler))
		if err == nil {
			_ = p.listener.Close() // it was not served
		}
		return err
	}
	says := func(want string, changes ...string) {
		t.Helper()
		s, err := readSettings(changed(installEnviron(), append([]string{"SOUNDINGS_REDIS_URL=" + url, "SLACK_API_URL=http://127.0.0.1:1/api/"}, changes...)...))
		if err != nil {
			t.Fatal(err)
		}
		findings := s.examineInstalls(t.Context(), rdb)
		if !slices.ContainsFunc(findings, func(f finding) bool { return strings.Contains(f.Text, want) }) {
			t.Errorf("check says %+v, want %q", findings, want)
		}
	}
	const mend = "SOUNDINGS_TOKEN_KEY does not open the tokens of T1: put the key"
	says(mend)
	if err := start(); err == nil || !strings.HasPrefix(err.Error(), mend) {
		t.Errorf("with another key: got %v", err)
	}
	says("1 of 1 tokens are sealed with the old key", "SOUNDINGS_TOKEN_KEY_OLD="+madeUpSealOld)
	if err := start("SOUNDINGS_TOKEN_KEY_OLD=" + madeUpSealOld); err != nil {
		t.Errorf("with the former key: %v", err)
	}
	says("SOUNDINGS_TOKEN_KEY_OLD is not needed any more", "SOUNDINGS_TOKEN_KEY_OLD="+madeUpSealOld)
	if err := start(); err != nil {
		t.Errorf("without it, afterwards: %v", err)
	}
	says("no Web API at SLACK_API_URL: ")
	platform := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = w.Write([]byte(`{"ok":false,"error":"token_revoked"}`))
	}))
	defer platform.Close()
	says("its token is not taken: let it install the app again at https://bot.example/slack/install", "SLACK_API_URL="+platform.URL+"/api/")
}

// A bot whose one token is dead cannot start; what its team held goes all the
// same once the grace is over, and not before.
func TestDeadTokenStillPurges(t *testing.T) {
	url := storetest.Embedded(t)
	rdb := storetest.Client(t, url)
	j := journal.New(rdb, journal.Options{})
	platform := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = w.Write([]byte(`{"ok":false,"error":"account_inactive"}`))
	}))
	defer platform.Close()
	s, err := readSettings(changed(httpEnviron(), "SLACK_API_URL="+platform.URL+"/api/", "SOUNDINGS_LISTEN=127.0.0.1:0", "SOUNDINGS_REDIS_URL="+url, "SOUNDINGS_PURGE_AFTER=48h"))
	if err != nil {
		t.Fatal(err)
	}
	for team, hours := range map[string]time.Duration{"T1": 47, "T2": 49} {
		if _, err := j.Index.Claim(t.Context(), team, "C1", "k"); err != nil {
			t.Fatal(err)
		}
		if _, err := j.Uninstalls.Add(t.Context(), team, time.Now().Add(-hours*time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := newService(t.Context(), s, rdb, slog.New(slog.DiscardHandler)); err == nil || !strings.Contains(err.Error(), "SLACK_BOT_TOKEN is not accepted") {
		t.Errorf("it starts: %v", err)
	}
	if teams, err := j.Index.Teams(t.Context()); err != nil || !slices.Equal(teams, []string{"T1"}) {
		t.Errorf("left: %v, %v, want T1", teams, err)
	}
}
