package main

import (
	"fmt"
	"net"
	"net/url"
	"strings"

	"github.com/spf13/cobra"

	"soundings/bot/rehearsal"
)

// bySocket is the value of --bot for a bot that comes by Socket Mode.
const bySocket = "socket"

// guest reads where a bot of one's own comes in. Empty is no such bot.
func guest(way string) (rehearsal.Guest, error) {
	if way == "" || way == bySocket {
		return rehearsal.Guest{Socket: way == bySocket}, nil
	}
	u, err := url.Parse(way)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" || strings.Trim(u.Path, "/") != "" {
		return rehearsal.Guest{}, wrongf("--bot takes socket, or the address at which your bot listens, such as http://127.0.0.1:8080")
	}
	return rehearsal.Guest{URL: strings.TrimRight(way, "/")}, nil
}

// refuseWithGuest names the flags that have nothing to do with a bot of one's
// own.
func refuseWithGuest(c *cobra.Command) error {
	for flag, why := range map[string]string{
		"script": "a script is played in no time, and your bot keeps the time of this machine",
		"redis":  "your bot keeps its own journal, in its SOUNDINGS_REDIS_URL",
	} {
		if c.Flags().Changed(flag) && c.Flags().Changed("bot") {
			return wrongf("--%s does not go with --bot: %s; leave one of them out", flag, why)
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
