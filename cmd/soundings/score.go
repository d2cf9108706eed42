package main

import (
	"errors"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"soundings/bot/report/score"
	"soundings/engine"
)

// scoreFlags are the flags of score.
type scoreFlags struct {
	json     bool
	seed     uint64
	asked    int
	png, svg string
}

func newScore() *cobra.Command {
	var f scoreFlags
	c := &cobra.Command{
		Use:   "score [flags] FILE.csv",
		Short: "Put rated assumptions in test order",
		Long: `Reads ratings from a CSV file, or from standard input for -, and says which
assumptions to test first and why. The first line names the columns:

  rater,assumption,importance,evidence

and may name a fifth one, statement. Each line below holds one rater's rating of
one assumption: importance and evidence as whole numbers from 1 to 9, each empty
for "can't say". A cell has at most 10,000 characters, a line 64 kB. Nothing is written
unless the whole file is right.`,
		Example: "  soundings score ratings.csv\n  soundings score --json --png map.png ratings.csv",
		Args:    oneFile,
		RunE:    func(c *cobra.Command, args []string) error { return runScore(c, f, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print the result as JSON")
	c.Flags().Uint64Var(&f.seed, "seed", 1, "the `number` that starts the resampling; the same seed gives the same result")
	c.Flags().IntVar(&f.asked, "asked", 0, "how many `people` were asked to rate (default the raters in the file)")
	c.Flags().StringVar(&f.png, "png", "", "draw the map into this PNG `file`")
	c.Flags().StringVar(&f.svg, "svg", "", "draw the map into this SVG `file`")
	return c
}

func runScore(c *cobra.Command, f scoreFlags, path string) error {
	if err := f.check(c, path); err != nil {
		return err
	}
	table, err := readTable(path, c.InOrStdin())
	if err != nil {
		return err
	}
	result := engine.Score(table, engine.Options{Asked: f.asked, Seed: f.seed})
	var maps []output
	for _, m := range []struct{ format, path string }{{"png", f.png}, {"svg", f.svg}} {
		if m.path == "" {
			continue
		}
		data, err := score.Map(result, m.format)
		if err != nil {
			return err
		}
		maps = append(maps, output{m.path, data})
	}
	if err := writeAll(maps); err != nil {
		return err
	}
	return printResult(c, f.json, result, func() string {
		return score.Text(result, score.Options{Colour: wantsColour(c.OutOrStdout()), Ballots: table})
	})
}

// readTable reads the ratings. What is wrong with them, or with the file, is the
// caller's mistake.
func readTable(path string, stdin io.Reader) (engine.Table, error) {
	name, in, err := openInput(path, stdin)
	if err != nil {
		return engine.Table{}, err
	}
	defer in.Close()
	table, err := engine.ParseTable(name, in)
	if _, inTable := errors.AsType[*engine.TableError](err); err != nil && !inTable {
		err = fileError(name, err)
	}
	if err != nil {
		return engine.Table{}, wrong(err)
	}
	return table, nil
}

// check refuses flags that cannot be meant.
func (f scoreFlags) check(c *cobra.Command, path string) error {
	if c.Flags().Changed("asked") && f.asked < 1 {
		return wrongf("--asked must be 1 or more; it is %d", f.asked)
	}
	taken := map[string]bool{filepath.Clean(path): true}
	for _, name := range []string{"png", "svg"} {
		flag := c.Flags().Lookup(name)
		if !flag.Changed {
			continue
		}
		to := filepath.Clean(flag.Value.String())
		switch {
		case flag.Value.String() == "":
			return wrongf("--%s needs the name of a file", name)
		case taken[to]:
			return wrongf("--%s would write over %s; name another file", name, to)
		}
		taken[to] = true
	}
	return nil
}
