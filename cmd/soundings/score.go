package main

import (
	"errors"
	"io"
	"path/filepath"
	"strings"

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
	html     string
	deal     string
	each     int
	people   int
}

func newScore() *cobra.Command {
	var f scoreFlags
	c := &cobra.Command{
		Use:   "score [flags] FILE.csv",
		Short: "Put rated assumptions in test order",
		Long: `Reads ratings from a CSV file, or from standard input for -, and says which
assumptions to test first and why. The first line names the columns:

  rater,assumption,importance,evidence

and may name a fifth one, statement. They may stand in any order, in capitals, set
apart by commas, semicolons or tabs; further columns are ignored. Each line below holds one rater's rating of
one assumption: importance and evidence as whole numbers from 1 to 9, each empty
for "can't say". A cell has at most 10,000 characters, a line 64 kB. Nothing is written
unless the whole file is right.

With --deal nothing is scored: FILE.csv lists what is to be rated, under the
columns assumption and, if you like, statement and rater, and everybody gets a
ballot with some of it, so that each assumption is rated by as many people as any
other. The same list gives the same ballots.`,
		Example: "  soundings score ratings.csv\n  soundings score --json --png map.png ratings.csv\n  soundings score --deal --people 12 list.csv",
		Args:    oneFile,
		RunE:    func(c *cobra.Command, args []string) error { return runScore(c, f, args[0]) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print the result as JSON")
	c.Flags().Uint64Var(&f.seed, "seed", 1, "the `number` that starts the resampling; the same seed gives the same result")
	c.Flags().IntVar(&f.asked, "asked", 0, "how many `people` were asked to rate (default the raters in the file)")
	c.Flags().StringVar(&f.png, "png", "", "draw the map into this PNG `file`")
	c.Flags().StringVar(&f.svg, "svg", "", "draw the map into this SVG `file`")
	c.Flags().StringVar(&f.html, "html", "", "write the result with its map into this HTML `file`")
	c.Flags().StringVar(&f.deal, "deal", "", "instead, print a ballot for everybody: for a `room`, or with --deal=form as CSV to be filled in")
	c.Flags().Lookup("deal").NoOptDefVal = "room"
	c.Flags().IntVar(&f.each, "each", 15, "with --deal, how many `assumptions` a person rates at most")
	c.Flags().IntVar(&f.people, "people", 0, "with --deal, how many `people` rate (default those named in the file)")
	return c
}

func runScore(c *cobra.Command, f scoreFlags, path string) error {
	if err := f.check(c, path); err != nil {
		return err
	}
	if f.deal != "" {
		return dealOut(c, f, path)
	}
	table, err := readInto(engine.ParseTable, path, c.InOrStdin())
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
	if f.html != "" {
		page, err := score.Page(result, score.Options{Ballots: table})
		if err != nil {
			return err
		}
		maps = append(maps, output{f.html, page})
	}
	if err := writeAll(maps); err != nil {
		return err
	}
	return printResult(c, f.json, result, func() string {
		return score.Text(result, score.Options{Colour: wantsColour(c.OutOrStdout()), Ballots: table})
	})
}

// dealOut prints who rates what.
func dealOut(c *cobra.Command, f scoreFlags, path string) error {
	list, err := readInto(engine.ParseList, path, c.InOrStdin())
	if err != nil {
		return err
	}
	if len(list.Raters) == 0 && f.people == 0 {
		return wrongf("there is nobody to deal to; name people in the column rater, or say how many with --people")
	}
	deal := score.NewDeal(list, f.people, f.each)
	if f.deal == "form" {
		return printText(c, deal.Form())
	}
	return printText(c, deal.Room(80))
}

// readInto reads a table or a list. What is wrong with it, or with the file, is
// the caller's mistake.
func readInto[T any](parse func(string, io.Reader) (T, error), path string, stdin io.Reader) (T, error) {
	var none T
	name, in, err := openInput(path, stdin)
	if err != nil {
		return none, err
	}
	defer in.Close()
	table, err := parse(name, in)
	if _, inTable := errors.AsType[*engine.TableError](err); err != nil && !inTable {
		err = fileError(name, err)
	}
	if err != nil {
		return none, wrong(err)
	}
	return table, nil
}

// named are the endings that say what a picture or page is.
var named = map[string]string{".png": "png", ".svg": "svg", ".html": "html", ".htm": "html",
	".gif": "gif", ".jpg": "jpeg", ".jpeg": "jpeg", ".webp": "webp", ".pdf": "pdf", ".csv": "csv"}

// check refuses flags that cannot be meant.
func (f scoreFlags) check(c *cobra.Command, path string) error {
	if c.Flags().Changed("asked") && f.asked < 1 {
		return wrongf("--asked must be 1 or more; it is %d", f.asked)
	}
	if f.deal == "" && (c.Flags().Changed("each") || c.Flags().Changed("people")) {
		return wrongf("--each and --people go with --deal")
	}
	if f.deal != "" {
		for _, name := range []string{"json", "seed", "asked", "png", "svg", "html"} {
			if c.Flags().Changed(name) {
				return wrongf("--deal prints ballots and scores nothing, so --%s does not go with it", name)
			}
		}
	}
	switch {
	case f.deal != "" && f.deal != "room" && f.deal != "form":
		return wrongf("--deal is %q; it may be room or form", f.deal)
	case f.each < 1:
		return wrongf("--each must be 1 or more; it is %d", f.each)
	case f.people < 0 || f.people > 2000:
		return wrongf("--people must be 1 to 2000; it is %d", f.people)
	}
	taken := map[string]bool{filepath.Clean(path): true}
	for _, name := range []string{"png", "svg", "html"} {
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
		case named[strings.ToLower(filepath.Ext(to))] != "" && named[strings.ToLower(filepath.Ext(to))] != name:
			return wrongf("--%s writes %s, and %s is named as something else; name it %s", name, strings.ToUpper(name), to, strings.TrimSuffix(to, filepath.Ext(to))+"."+name)
		}
		taken[to] = true
	}
	return nil
}
