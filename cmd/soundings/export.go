package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soundings/bot/journal"
	"soundings/bot/report"
	"soundings/bot/words"
	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// exportFlags are the flags of export.
type exportFlags struct {
	team, kickoff, person, out string
	list, json                 bool
}

func newExport(s settings) *cobra.Command {
	var f exportFlags
	c := &cobra.Command{
		Use:   "export",
		Short: "Write the files of a kickoff, as it stands, or what is kept of a person",
		Long: `Export reads a kickoff from the journal at SOUNDINGS_REDIS_URL and writes its files:
summary.md, summary.html, assumptions.csv, tasks.csv, kickoff.json, map.png, map.svg
and checkins.ics. It changes nothing there, and asks the platform nothing. With --list it
names the kickoffs that there are. With --person it prints, as JSON, all that is kept about
somebody in a team.

The files hold what people wrote: treat them as they would wish.`,
		Example: "  soundings export --list\n" +
			"  soundings export --team T0123 --kickoff C0456-1795641361 --out out\n" +
			"  soundings export --team T0123 --kickoff C0456-1795641361 --out - >kickoff.tar\n" +
			"  soundings export --team T0123 --kickoff C0456-1795641361 --json\n" +
			"  soundings export --team T0123 --person U0789",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return export(c, s, f) },
	}
	c.Flags().StringVar(&f.team, "team", "", "the `id` of the team, such as T0123")
	c.Flags().StringVar(&f.kickoff, "kickoff", "", "the `id` of the kickoff, as --list shows it")
	c.Flags().StringVar(&f.person, "person", "", "print all that is kept about the person with this `id`, instead")
	c.Flags().StringVar(&f.out, "out", "", "write the files into this `folder`, which is made if need be; with -, print them as a tar")
	c.Flags().BoolVar(&f.list, "list", false, "list the kickoffs, of all teams or of one, instead")
	c.Flags().BoolVar(&f.json, "json", false, "print kickoff.json, or the list as JSON, instead")
	return c
}

func export(c *cobra.Command, s settings, f exportFlags) error {
	if err := f.check(c); err != nil {
		return err
	}
	rdb, err := openJournal(c.Context(), s)
	if err != nil {
		return err
	}
	defer func() { _ = rdb.Close() }() // nothing was written
	if f.person != "" {
		return exportPerson(c, keeperOf(c, rdb), f)
	}
	j := journal.New(rdb, journal.Options{})
	if !f.list {
		return f.exportKickoff(c, j)
	}
	shown := progressOf(c)
	all, unread, err := list(c.Context(), j, f.team, shown)
	shown.end()
	if err != nil {
		return err
	}
	if len(all) == 0 && unread != nil {
		return unread
	}
	return cmp.Or(printResult(c, f.json, all, func() string { return listText(all) }), unread)
}

// check refuses flags that do not go together.
func (f exportFlags) check(c *cobra.Command) error {
	switch {
	case f.person != "" && (f.list || f.kickoff != "" || f.out != ""):
		return wrongf("--person prints what is kept about somebody: leave out --list, --kickoff and --out")
	case f.person != "":
		return needs(c, "team")
	case f.list && (f.kickoff != "" || f.out != ""):
		return wrongf("--list names kickoffs and writes none: leave out --kickoff and --out")
	case f.list:
		return nil
	case f.json && f.out != "":
		return wrongf("--json prints and --out writes: leave out one of them")
	case f.json:
		return needs(c, "team", "kickoff")
	}
	if f.out == "-" && isTerminal(c.OutOrStdout()) {
		return wrongf("--out - prints a tar: send it to a file, or to tar -x")
	}
	return cmp.Or(needs(c, "team", "kickoff", "out"), mustTakeFiles(f.out))
}

// exportKickoff writes or prints one kickoff.
func (f exportFlags) exportKickoff(c *cobra.Command, j *journal.Journal) error {
	k, err := readKickoff(c.Context(), j, journal.Key{Team: f.team, Kickoff: f.kickoff})
	if err != nil {
		return err
	}
	if k.Version == 0 {
		return wrongf("there is no kickoff %s in team %s; soundings export --list names those that there are", f.kickoff, f.team)
	}
	files, err := report.Files(k)
	if err != nil {
		return fmt.Errorf("export: %w", err)
	}
	switch {
	case f.out == "-":
		return printTar(c, f.kickoff, k.Started, files)
	case !f.json:
		return writeFolder(f.out, files)
	}
	i := slices.IndexFunc(files, func(file report.File) bool { return file.Name == "kickoff.json" })
	return printText(c, string(files[i].Data))
}

// readKickoff folds the whole journal of a kickoff. Its Version is 0 where
// there is none.
func readKickoff(ctx context.Context, j *journal.Journal, key journal.Key) (state.Kickoff, error) {
	entries, err := j.Read(ctx, key, journal.Position{})
	if err != nil {
		return state.Kickoff{}, err
	}
	records := make([]event.Record, len(entries))
	for i, e := range entries {
		if err := json.Unmarshal(e.Data, &records[i]); err != nil {
			return state.Kickoff{}, &laterError{key.Kickoff, e.Version, err}
		}
	}
	return flows.Fold(flows.WithZones(state.Kickoff{}, new(zones.Cache)), 0, records), nil
}

// A listed kickoff is one line of export --list.
type listed struct {
	Team    string    `json:"team"`
	Kickoff string    `json:"kickoff"`
	Channel string    `json:"channel"`
	Stage   string    `json:"stage"`
	Started time.Time `json:"started"`
	Title   string    `json:"title"`
}

// list reads the kickoffs of a team, or of all of them when team is empty.
// One that was claimed and never written to is passed over, and one that this
// release cannot read told of in unread.
func list(ctx context.Context, j *journal.Journal, team string, shown *progress) (all []listed, unread, err error) {
	teams, err := j.Index.Teams(ctx)
	if err != nil {
		return nil, nil, err
	}
	if team != "" {
		teams = []string{team}
	}
	all = []listed{}
	for _, team := range teams {
		keys, err := j.Index.All(ctx, team)
		if err != nil {
			return nil, nil, err
		}
		for i, key := range keys {
			shown.say("reading team %s: kickoff %d of %d", team, i+1, len(keys))
			k, err := readKickoff(ctx, j, key)
			if later, is := errors.AsType[*laterError](err); is {
				unread = errors.Join(unread, later)
				continue
			}
			if err != nil {
				return nil, nil, err
			}
			if k.Version > 0 {
				all = append(all, listed{key.Team, key.Kickoff, k.Channel, string(k.Stage), k.Started.UTC(), k.Brief.Title})
			}
		}
	}
	return all, unread, nil
}

// A laterError names an entry that this release cannot read.
type laterError struct {
	kickoff string
	version int64
	err     error
}

func (e *laterError) Error() string {
	return fmt.Sprintf("read kickoff %s: entry %d: %v; was it written by a later release?", e.kickoff, e.version, e.err)
}
func (e *laterError) Unwrap() error { return e.err }

// listText is the list in words, with a line for each kickoff.
func listText(all []listed) string {
	if len(all) == 0 {
		return "There are no kickoffs.\n"
	}
	lines := []string{"team\tkickoff\tchannel\tstage\tstarted\ttitle"}
	for _, l := range all {
		lines = append(lines, strings.Join([]string{l.Team, l.Kickoff, l.Channel, l.Stage,
			l.Started.Format("2 Jan 2006"), words.HarmlessLine(l.Title)}, "\t"))
	}
	return aligned(3, lines)
}
