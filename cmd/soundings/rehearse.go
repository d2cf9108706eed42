package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"

	"github.com/spf13/cobra"

	"soundings/bot/fakeslack"
	"soundings/bot/rehearsal"
	"soundings/bot/report"
	"soundings/bot/scenario"
	"soundings/bot/words"
)

// rehearseFlags are the flags of rehearse.
type rehearseFlags struct {
	script, out, redis, trace, trouble, bot string
	listen                                  listening
	faults                                  fakeslack.Faults // read from trouble
}

func newRehearse() *cobra.Command {
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
behind: summary.md, assumptions.csv, kickoff.json, map.png, map.svg and
checkins.ics.`,
		Example: "  soundings rehearse\n  soundings rehearse --bot socket\n  soundings rehearse --script testdata/scenarios/ferry.yaml --out out",
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return rehearse(c, f) },
	}
	c.Flags().StringVar(&f.script, "script", "", "the scenario, a YAML `file` such as testdata/scenarios/ferry.yaml")
	c.Flags().StringVar(&f.out, "out", "", "write the files into this `folder`, which is made if need be")
	c.Flags().StringVar(&f.redis, "redis", "", "keep the journal in Redis at this `url` and remove it at the end (default an embedded store)")
	c.Flags().StringVar(&f.listen.address, "listen", roomListen, "without --script: open the page on this `address`; port 0 takes any free one")
	c.Flags().BoolVar(&f.listen.anyone, "anyone", false, "with --listen: let other machines in, where anyone can act as anyone")
	c.Flags().StringVar(&f.bot, "bot", "", "without --script: let in a bot that you serve yourself, `socket` or its address such as http://127.0.0.1:8080")
	c.Flags().StringVar(&f.trouble, "faults", "", "let things go wrong between bot and platform: `list` such as lost=5,slow=3:800ms, or all")
	c.Flags().StringVar(&f.trace, "trace", "", "write each Web API call of the bot into this `file`, one line of JSON each")
	return c
}

func rehearse(c *cobra.Command, f rehearseFlags) error {
	var err error
	if f.faults, err = fakeslack.ParseFaults(f.trouble); err != nil {
		return wrongf("--faults: %w", err)
	}
	if err := refuseWithGuest(c); err != nil {
		return err
	}
	if !c.Flags().Changed("script") {
		return f.room(c)
	}
	if err := needs(c, "script"); err != nil {
		return err
	}
	if err := f.check(); err != nil {
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
	played, err := f.play(c.Context(), script)
	if traced := f.writeTrace(played.trace); err == nil {
		err = traced
	}
	if err != nil {
		return err
	}
	if err := f.writeFiles(played.files); err != nil {
		return err
	}
	return printText(c.OutOrStdout(), played.channel)
}

// room opens the page, which has nothing for the flags of a script.
func (f rehearseFlags) room(c *cobra.Command) error {
	for _, flag := range []string{"out", "trace"} {
		if c.Flags().Changed(flag) {
			return wrongf("--%s goes with --script: add the scenario, such as testdata/scenarios/ferry.yaml, or leave --%s out to open the page", flag, flag)
		}
	}
	return openRoom(c, f)
}

// check refuses places where nothing can be written.
func (f rehearseFlags) check() error {
	if info, err := os.Stat(f.out); f.out != "" && err == nil && !info.IsDir() {
		return wrongf("--out takes a folder, and %s is none", f.out)
	}
	return nil
}

// A played kickoff is what is left of it.
type played struct {
	channel string
	files   []report.File
	trace   []byte
}

// play plays the scenario and cleans up behind it.
func (f rehearseFlags) play(ctx context.Context, s *scenario.Scenario) (played, error) {
	store, err := openStore(ctx, f.redis)
	if err != nil {
		return played{}, err
	}
	defer store.close()
	// A play lasts seconds and needs little memory: a collector that runs less
	// often takes a tenth off the wait.
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	var p *rehearsal.Play
	trace := tracer{hide: func() string { return p.Team().URL() }}
	p, err = rehearsal.NewPlay(rehearsal.PlayConfig{Scenario: s, Journal: store.journal, Trace: trace.add, Faults: f.faults})
	if err != nil {
		return played{}, fmt.Errorf("rehearse: %w", err)
	}
	result, err := perform(ctx, p)
	result.trace = trace.lines()
	p.Close() // first, since nothing may write to what is purged
	if purged := store.purge(ctx, p.Team().TeamID()); err == nil {
		err = purged
	}
	return result, err
}

// perform plays p to its end.
func perform(ctx context.Context, p *rehearsal.Play) (played, error) {
	if err := p.Run(ctx); err != nil {
		return played{}, fmt.Errorf("rehearse: %w", err)
	}
	files, err := p.Files(ctx)
	if err != nil {
		return played{}, fmt.Errorf("rehearse: %w", err)
	}
	return played{channel: words.Harmless(p.Transcript()), files: files}, nil
}

// writeTrace writes the calls of the bot, if there were any: also when the
// play failed, since they tell why.
func (f rehearseFlags) writeTrace(lines []byte) error {
	if f.trace == "" || len(lines) == 0 {
		return nil
	}
	return writeAll([]output{{f.trace, lines}})
}

// writeFiles writes what the kickoff leaves behind.
func (f rehearseFlags) writeFiles(files []report.File) error {
	if f.out == "" {
		return nil
	}
	if err := os.MkdirAll(f.out, 0o777); err != nil {
		return fmt.Errorf("make the folder %w", fileError(f.out, err))
	}
	var all []output
	for _, file := range files {
		all = append(all, output{filepath.Join(f.out, file.Name), file.Data})
	}
	return writeAll(all)
}
