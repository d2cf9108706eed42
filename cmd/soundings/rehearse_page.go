package main

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soundings/bot/rehearsal"
	"soundings/bot/rehearsal/page"
)

// pageListen is where the page listens if nothing else is said.
const pageListen = "127.0.0.1:8090"

// openPage serves the rehearsal page until the command is interrupted.
func (f rehearseFlags) openPage(c *cobra.Command, s settings) error {
	guest, err := f.checkPage(c)
	if err != nil {
		return err
	}
	drafter, err := s.drafter() // a script has none: it plays the same everywhere
	if err != nil {
		return err
	}
	store, err := openStore(c.Context(), f.redis)
	if err != nil {
		return err
	}
	defer store.close()
	host, _, _ := net.SplitHostPort(f.listen) // it was checked
	p, err := page.New(page.Config{Journal: store.journal, Faults: f.faults, Drafter: drafter, Guest: guest, Host: host})
	if err != nil {
		return fmt.Errorf("rehearse: %w", err)
	}
	l, err := net.Listen("tcp", f.listen)
	if err != nil {
		p.Close()
		return fmt.Errorf("listen on --listen: %w; choose another port, or 0 for any free one", err)
	}
	if f.anyone {
		fmt.Fprintln(c.ErrOrStderr(), "Warning: whoever reaches this address can act as anyone in the rehearsal, and sees all of it.")
	}
	server := &http.Server{Handler: p.Handler(), ReadHeaderTimeout: 5 * time.Second}
	address, team := "http://"+l.Addr().String()+"/", p.Team().TeamID()
	return errors.Join(
		printText(c, "The rehearsal is at "+address+"\n"+invitation(address, team, guest)+"Stop it with Ctrl-C.\n"),
		serveUntil(c.Context(), server, l, p.Close, func(error) {}), // whoever still waits has had an answer that the page is closed
		store.purge(c.Context(), team))
}

// checkPage refuses flags that the page has nothing for, and to open it to
// others unless that is what was asked for.
func (f rehearseFlags) checkPage(c *cobra.Command) (guest rehearsal.Guest, err error) {
	for _, flag := range []string{"out", "trace"} {
		if c.Flags().Changed(flag) {
			return guest, wrongf("--%s goes with --script: add the scenario, such as testdata/scenarios/ferry.yaml, or leave --%s out to open the page", flag, flag)
		}
	}
	host, _, err := net.SplitHostPort(f.listen)
	if err != nil {
		return guest, wrongf("--listen takes an address and a port, such as %s", pageListen)
	}
	if !f.anyone && !isHere(host) {
		return guest, wrongf("--listen %s would let other machines in, and anyone there can act as anyone: add --anyone if you want that, or listen on %s", f.listen, pageListen)
	}
	return readGuest(f.bot)
}

// bySocket is the value of --bot for a bot that comes by Socket Mode.
const bySocket = "socket"

// readGuest reads where a bot of one's own comes in. Empty is no such bot.
func readGuest(way string) (rehearsal.Guest, error) {
	if way == "" || way == bySocket {
		return rehearsal.Guest{Socket: way == bySocket}, nil
	}
	u, err := url.Parse(way)
	if err != nil || !isWebAddress(way) || strings.Trim(u.Path, "/") != "" {
		return rehearsal.Guest{}, wrongf("--bot takes socket, or the address at which your bot listens, such as http://127.0.0.1:8080")
	}
	return rehearsal.Guest{URL: strings.TrimRight(way, "/")}, nil
}

// refuseWithGuest names the flags that have nothing to do with a bot of one's
// own.
func refuseWithGuest(c *cobra.Command) error {
	for _, other := range []struct{ flag, why string }{
		{"script", "a script is played in no time, and your bot keeps the time of this machine"},
		{"redis", "your bot keeps its own journal, in its SOUNDINGS_REDIS_URL"},
	} {
		if c.Flags().Changed(other.flag) && c.Flags().Changed("bot") {
			return wrongf("--%s does not go with --bot: %s; leave one of them out", other.flag, other.why)
		}
	}
	return nil
}

// invitation says how a bot is set up that is to come to the page at address.
func invitation(address, team string, g rehearsal.Guest) string {
	if !g.Expected() {
		return ""
	}
	way := "export SLACK_APP_TOKEN=" + rehearsal.GuestAppToken
	if g.URL != "" {
		listen := "127.0.0.1:8080"
		if u, err := url.Parse(g.URL); err == nil && u.Port() != "" {
			listen = net.JoinHostPort(u.Hostname(), u.Port())
		}
		way = "export SLACK_SIGNING_SECRET=" + rehearsal.GuestSigningSecret + "\n  export SOUNDINGS_LISTEN=" + listen
	}
	return fmt.Sprintf(`
It waits for your bot. In another terminal, with a Redis at hand:

  export SLACK_API_URL=%sapi/
  export SLACK_BOT_TOKEN=%s
  %s
  export SOUNDINGS_REDIS_URL=redis://localhost:6379/1
  ./soundings check
  ./soundings serve

This workspace is forgotten when it ends, and what your bot knows of it is not. Before
you begin anew: ./soundings purge --team %s --yes

`, address, rehearsal.GuestBotToken, way, team)
}
