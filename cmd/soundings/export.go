package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/redis/go-redis/v9"
	"github.com/spf13/cobra"

	"soundings/bot/journal"
	"soundings/bot/report"
)

// exportFlags are the flags of export.
type exportFlags struct {
	team, kickoff, out string
	list, json         bool
}

func newExport() *cobra.Command {
	var f exportFlags
	c := &cobra.Command{
		Use:   "export",
		Short: "Write the files of a kickoff, as it stands",
		Long: `Export reads a kickoff from the journal at SOUNDINGS_REDIS_URL and writes its files:
summary.md, assumptions.csv, kickoff.json, map.png, map.svg and checkins.ics. It
changes nothing there, and asks the platform nothing. With --list it names the
kickoffs that there are.

The files hold what people wrote: treat them as they would wish.`,
		Example: "  soundings export --list\n" +
			"  soundings export --team T0123 --kickoff C0456-1795641361 --out out\n" +
			"  soundings export --team T0123 --kickoff C0456-1795641361 --json",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return export(c, f) },
	}
	c.Flags().StringVar(&f.team, "team", "", "the `id` of the team, such as T0123")
	c.Flags().StringVar(&f.kickoff, "kickoff", "", "the `id` of the kickoff, as --list shows it")
	c.Flags().StringVar(&f.out, "out", "", "write the files into this `folder`, which is made if need be")
	c.Flags().BoolVar(&f.list, "list", false, "list the kickoffs, of all teams or of one, instead")
	c.Flags().BoolVar(&f.json, "json", false, "print kickoff.json, or the list as JSON, instead")
	return c
}

func export(c *cobra.Command, f exportFlags) error {
	if err := f.check(c); err != nil {
		return err
	}
	rdb, err := openJournal(c)
	if err != nil {
		return err
	}
	defer func() { _ = rdb.Close() }() // nothing was written
	j := journal.New(rdb, journal.Options{})
	if f.list {
		return f.printList(c, j)
	}
	return f.writeKickoff(c, j)
}

// check refuses flags that do not go together.
func (f exportFlags) check(c *cobra.Command) error {
	switch {
	case f.list && (f.kickoff != "" || f.out != ""):
		return wrongf("--list names kickoffs and writes none: leave out --kickoff and --out")
	case f.list:
		return nil
	case f.json && f.out != "":
		return wrongf("--json prints and --out writes: leave out one of them")
	case f.json:
		return needs(c, "team", "kickoff")
	}
	if err := needs(c, "team", "kickoff", "out"); err != nil {
		return err
	}
	return rehearseFlags{out: f.out}.check()
}

// openJournal opens the Redis that keeps the journal; nothing else is needed
// to read it.
func openJournal(c *cobra.Command) (redis.UniversalClient, error) {
	s, err := parseSettings(environment(os.Environ()))
	if err != nil {
		return nil, err
	}
	if err := s.checkRedis(); err != nil {
		return nil, wrong(err)
	}
	return openRedis(c.Context(), s.RedisURL)
}

// writeKickoff writes or prints one kickoff.
func (f exportFlags) writeKickoff(c *cobra.Command, j *journal.Journal) error {
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
	if f.json {
		return printFile(c, files, "kickoff.json")
	}
	return writeFolder(f.out, files)
}

// printFile prints one of the files.
func printFile(c *cobra.Command, files []report.File, name string) error {
	for _, file := range files {
		if file.Name == name {
			return printText(c.OutOrStdout(), string(file.Data))
		}
	}
	return fmt.Errorf("export: no %s among the files", name)
}

// writeFolder writes files into a folder, which it makes if need be. What is
// there already under other names stays.
func writeFolder(dir string, files []report.File) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("make the folder %w", fileError(dir, err))
	}
	var all []output
	for _, file := range files {
		all = append(all, output{filepath.Join(dir, file.Name), file.Data})
	}
	return writeAll(all)
}
