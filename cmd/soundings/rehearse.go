package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soundings/bot/fakeslack"
	"soundings/bot/journal"
	"soundings/bot/rehearsal"
	"soundings/bot/report"
	"soundings/bot/scenario"
	"soundings/bot/words"
)

// rehearseFlags are the flags of rehearse.
type rehearseFlags struct {
	script, out, redis, trace, trouble, bot string
	listen                                  string
	anyone                                  bool             // with listen: also from other machines
	faults                                  fakeslack.Faults // read from trouble
}

func newRehearse(s settings) *cobra.Command {
	var f rehearseFlags
	c := &cobra.Command{
		Use:   "rehearse",
		Short: "Rehearse a kickoff on this machine: in the browser, or from a script",
		Long: `Without a script, opens a page on which you can be anyone in a channel of twelve:
lead the kickoff or take part in it, let the others act, and move the clock on to
the next deadline. It needs no account and no server. A model that is set up as for
serve, with SOUNDINGS_MODEL_URL and SOUNDINGS_MODEL, drafts on this page too.

With --bot, the bot on this page is one that you serve yourself, so that you see
whether it is set up as it should be before it meets a workplace: with socket it
comes by Socket Mode, with an address it is sent signed requests there. Prints the
settings that it needs. The clock is then this machine's.

With --script, plays a scenario at full speed, in a workspace of its own on this machine: the
people of the script press the buttons and fill in the forms that the bot sends
them. Prints the channel as text, and writes the files that the kickoff leaves
behind: summary.md, summary.html, assumptions.csv, tasks.csv, kickoff.json,
map.png, map.svg and checkins.ics.`,
		Example: "  soundings rehearse\n  soundings rehearse --bot socket\n  soundings rehearse --script testdata/scenarios/ferry.yaml --out out",
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return rehearse(c, s, f) },
	}
	c.Flags().StringVar(&f.script, "script", "", "the scenario, a YAML `file` such as testdata/scenarios/ferry.yaml")
	c.Flags().StringVar(&f.out, "out", "", "write the files into this `folder`, which is made if need be")
	c.Flags().StringVar(&f.redis, "redis", "", "keep the journal in Redis at this `url` and remove it at the end (default an embedded store)")
	c.Flags().StringVar(&f.listen, "listen", pageListen, "without --script: open the page on this `address`; port 0 takes any free one")
	c.Flags().BoolVar(&f.anyone, "anyone", false, "with --listen: let other machines in, where anyone can act as anyone")
	c.Flags().StringVar(&f.bot, "bot", "", "without --script: let in a bot that you serve yourself, `socket` or its address such as http://127.0.0.1:8080")
	c.Flags().StringVar(&f.trouble, "faults", "", "let things go wrong between bot and platform: `list` such as lost=5,slow=3:800ms, or all")
	c.Flags().StringVar(&f.trace, "trace", "", "write each Web API call of the bot into this `file`, one line of JSON each")
	return c
}

func rehearse(c *cobra.Command, s settings, f rehearseFlags) error {
	var err error
	if f.faults, err = fakeslack.ParseFaults(f.trouble); err != nil {
		return wrongf("--faults: %w", err)
	}
	if err := refuseWithGuest(c); err != nil {
		return err
	}
	if !c.Flags().Changed("script") {
		return f.openPage(c, s)
	}
	if err := cmp.Or(needs(c, "script"), mustTakeFiles(f.out)); err != nil {
		return err
	}
	name, data, err := readInput(f.script, c.InOrStdin())
	if err != nil {
		return err
	}
	script, err := scenario.Parse(name, data)
	if err != nil {
		return wrong(err)
	}
	shown := progressOf(c)
	played, err := f.play(c.Context(), script, shown)
	shown.end()
	if f.trace != "" && len(played.trace) > 0 { // also when the play failed, since it tells why
		err = cmp.Or(err, writeAll([]output{{f.trace, played.trace}}))
	}
	if err == nil && f.out != "" {
		err = writeFolder(f.out, played.files)
	}
	if err != nil {
		return err
	}
	return printText(c, played.channel)
}

// A played kickoff is what is left of it.
type played struct {
	channel string
	files   []report.File
	trace   []byte
}

// play plays the scenario and cleans up behind it.
func (f rehearseFlags) play(ctx context.Context, s *scenario.Scenario, shown *progress) (played, error) {
	store, err := openStore(ctx, f.redis)
	if err != nil {
		return played{}, err
	}
	defer store.close()
	// A play lasts seconds and needs little memory: a collector that runs less
	// often takes a tenth off the wait.
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	var trace bytes.Buffer
	lines := json.NewEncoder(&trace)
	lines.SetEscapeHTML(false)
	calls := 0
	p, err := rehearsal.NewPlay(rehearsal.PlayConfig{Scenario: s, Journal: store.journal, Faults: f.faults, Trace: func(call fakeslack.Call) {
		if call.Method == fakeslack.ResponseURL {
			return // an answer to a press is no Web API call
		}
		if calls++; calls%10 == 0 {
			shown.say("playing %s: %s of the bot", call.At.Format("2 January 2006"), words.Count(calls, "call", "calls"))
		}
		if err := lines.Encode(call); err != nil {
			panic(fmt.Sprintf("trace %s: %v", call.Method, err)) // it was decoded from JSON
		}
	}})
	if err != nil {
		return played{}, fmt.Errorf("rehearse: %w", err)
	}
	var result played
	if err = p.Run(ctx); err == nil {
		result.channel = words.Harmless(p.Transcript())
		result.files, err = p.Files(ctx)
	}
	if err != nil {
		err = fmt.Errorf("rehearse: %w", err)
	}
	p.Close() // first, since nothing may write to what is purged, nor to the trace
	// The address of the workspace, which is another one in each run, is left
	// out, so that two runs can be compared.
	result.trace = bytes.ReplaceAll(trace.Bytes(), []byte(p.Team().URL()), []byte("http://workspace.example"))
	return result, cmp.Or(err, store.purge(ctx, p.Team().TeamID()))
}

// A store is where a rehearsal keeps its journal.
type store struct {
	journal *journal.Journal
	close   func()
}

// openStore opens Redis at url, or an embedded store without one. Each run has
// keys of its own: a rehearsal may share the server with anything.
func openStore(ctx context.Context, url string) (*store, error) {
	stop, embedded := func() {}, url == ""
	if embedded {
		var err error
		if url, stop, err = journal.StartEmbedded(); err != nil {
			return nil, err
		}
	}
	client, err := openRedis(ctx, "--redis", url)
	if err != nil {
		stop()
		return nil, err
	}
	prefix := "rehearsal-" + strings.ToLower(rand.Text())
	return &store{
		journal: journal.New(client, journal.Options{Prefix: prefix, Embedded: embedded}),
		close: func() {
			_ = client.Close() // nothing is waiting to be written
			stop()
		},
	}, nil
}

// purge removes what the rehearsal has written, also when it was interrupted.
func (s *store) purge(ctx context.Context, team string) error {
	const within = 10 * time.Second
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), within)
	defer cancel()
	if err := s.journal.PurgeTeam(ctx, team); err != nil {
		return fmt.Errorf("clean up after the rehearsal: %w", err)
	}
	return nil
}
