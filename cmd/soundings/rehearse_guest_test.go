package main

import (
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"net/url"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/journal/storetest"
)

// A guestRoom is a rehearsal that waits for a bot of one's own, as
// soundings rehearse --bot opens it.
type guestRoom struct {
	t       *testing.T
	address string
	printed string
}

// A firstWrite hands on the first thing that is written.
type firstWrite chan string

func (w firstWrite) Write(p []byte) (int, error) {
	select {
	case w <- string(p):
	default:
	}
	return len(p), nil
}

// command runs one until end is called, or the test ends.
func (e environ) command(t *testing.T, out io.Writer, arguments ...string) (end func()) {
	t.Helper()
	ctx, interrupt := context.WithCancel(context.WithoutCancel(t.Context()))
	var errors lockedBuffer
	code := make(chan int, 1)
	go func() { code <- run(ctx, arguments, e, nil, out, &errors) }()
	ended := false
	end = func() {
		if interrupt(); ended {
			return
		}
		ended = true
		got := <-code
		assert.Equal(t, exitGood, got, "%v ended with %d and said:\n%s", arguments, got, errors.String())
	}
	t.Cleanup(end)
	return end
}

func openGuestRoom(t *testing.T, way string) *guestRoom {
	t.Helper()
	out := make(firstWrite, 1)
	environ{}.command(t, out, "rehearse", "--listen", "127.0.0.1:0", "--bot", way)
	select {
	case printed := <-out:
		return &guestRoom{t: t, printed: printed, address: regexp.MustCompile(`http://[^/\s]+/`).FindString(printed)}
	case <-time.After(within):
		t.Fatal("nothing was printed")
		return nil
	}
}

// settings are those that the rehearsal printed, to the letter, but for the
// Redis, which is the test's.
func (g *guestRoom) settings() environ {
	g.t.Helper()
	e := environ{}
	for _, found := range regexp.MustCompile(`(?m)^  export (\S+)$`).FindAllStringSubmatch(g.printed, -1) {
		name, value, _ := strings.Cut(found[1], "=")
		e[name] = value
	}
	return changed(e, "SOUNDINGS_REDIS_URL="+keepingRedis(g.t))
}

// keepingRedis is a redis-server that writes everything to disk, where there
// is one on the path, and the embedded store otherwise.
func keepingRedis(t *testing.T) string {
	t.Helper()
	if _, err := exec.LookPath("redis-server"); err != nil {
		return storetest.Embedded(t)
	}
	url := storetest.Server(t) // its folder is the test's own
	require.NoError(t, storetest.Client(t, url).ConfigSet(t.Context(), "appendonly", "yes").Err())
	return url
}

// press presses one of the buttons beside the clock, as the lead.
func (g *guestRoom) press(what string) {
	g.t.Helper()
	answer, err := http.PostForm(g.address+"as/ines/time", url.Values{"do": {what}})
	require.NoError(g.t, err)
	answer.Body.Close()
}

// shows waits until the channel shows text, and presses a button meanwhile.
func (g *guestRoom) shows(text, press string) {
	g.t.Helper()
	page := ""
	for late := time.Now().Add(within); time.Now().Before(late); time.Sleep(50 * time.Millisecond) {
		answer, err := http.Get(g.address)
		require.NoError(g.t, err)
		data, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		require.NoError(g.t, err)
		if page = string(data); strings.Contains(page, text) {
			return
		}
		if press != "" {
			g.press(press)
		}
	}
	g.t.Fatalf("the channel never shows %q; it shows:\n%s", text, page)
}

// TestServeInARehearsal does what a person does who sets the bot up for the
// first time: takes the settings that the rehearsal prints, checks them,
// serves, starts a kickoff, stops and starts again in the middle of a step,
// writes the files and removes everything.
func TestServeInARehearsal(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, way string }{{"Socket Mode", "socket"}, {"HTTP", "http://"}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel() // they mostly wait
			way := tt.way
			if way == "http://" { // taken as late as may be: others listen too, meanwhile
				way += freeAddress(t)
			}
			g := openGuestRoom(t, way)
			e := g.settings()
			a := e.call(t, "", "check")
			require.Equal(t, exitGood, a.code, "check: exit %d\n%s", a.code, a.out)
			stop := e.command(t, io.Discard, "serve")
			const brief = "Read the brief, then mark it as read"
			g.shows(brief, "me")
			g.press("others")
			stop()
			e.command(t, io.Discard, "serve")
			g.shows("12 of 12 answered", "me")

			list := e.call(t, "", "export", "--list")
			found := regexp.MustCompile(`(T\d+)\s+(C\S+)`).FindStringSubmatch(list.out)
			require.NotNil(t, found, "export --list names no kickoff:\n%s%s", list.out, list.errors)
			a = e.call(t, "", "export", "--team", found[1], "--kickoff", found[2], "--json")
			assert.Equal(t, exitGood, a.code, "export: exit %d, %s", a.code, a.errors)
			assert.Contains(t, a.out, "Room for bicycles", "export: exit %d, %s", a.code, a.errors)
			assert.Contains(t, g.printed, "purge --team "+found[1]+" --yes", "the rehearsal does not say how to begin anew")
			require.Eventually(t, func() bool { // refused, as it says, while somebody uses the app
				a = e.call(t, "", "purge", "--team", found[1], "--yes")
				return a.code == exitGood
			}, within, time.Second, "purge")
			assert.NotContains(t, e.call(t, "", "export", "--list").out, found[2], "after the purge there is still")
		})
	}
}

// freeAddress is one at which nobody listens now.
func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}

// A bot that is not there, or is set up with another secret, is told of on the
// page.
func TestRehearsalSaysThatNoBotComes(t *testing.T) {
	t.Parallel()
	for _, way := range []string{"socket", "http://" + freeAddress(t)} {
		g := openGuestRoom(t, way)
		g.press("me")
		answer, err := http.PostForm(g.address+"as/ines/say", url.Values{"channel": {"C00000001"}, "text": {"/soundings"}})
		require.NoError(t, err)
		var page bytes.Buffer
		_, err = page.ReadFrom(answer.Body)
		answer.Body.Close()
		require.NoError(t, err)
		assert.Contains(t, page.String(), "See whether it runs", "--bot %s: the page shows", way)
	}
}

func TestRehearsalRefusesOtherWaysIn(t *testing.T) {
	t.Parallel()
	for _, way := range []string{"8080", "127.0.0.1:8080", "http://127.0.0.1:8080/slack/events", "ftp://127.0.0.1"} {
		mustRefuse(t, "--bot takes socket, or the address at which your bot listens, such as http://127.0.0.1:8080", "rehearse", "--bot", way)
	}
	mustRefuse(t, "--script does not go with --bot: a script is played in no time, and your bot keeps the time of this machine; leave one of them out",
		"rehearse", "--bot", "socket", "--script", "x.yaml")
	mustRefuse(t, "--redis does not go with --bot: your bot keeps its own journal, in its SOUNDINGS_REDIS_URL; leave one of them out",
		"rehearse", "--bot", "socket", "--redis", "redis://localhost:6379/0")
}
