package main

import (
	"context"
	"fmt"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/spf13/cobra"
)

// The verdicts of check.
const (
	isGood = "good"
	isNote = "note" // works, and is worth knowing
	toMend = "mend"
)

// A finding is what check has to say about one item.
type finding struct {
	Item    string `json:"item"`
	Verdict string `json:"verdict"`
	Text    string `json:"text"` // what is so, and with mend what to do
}

func found(item, verdict, format string, args ...any) finding {
	return finding{item, verdict, fmt.Sprintf(format, args...)}
}

// checkFlags are the flags of check.
type checkFlags struct {
	json, ready, model bool
	limit              time.Duration // of the quality sheet
}

func newCheck() *cobra.Command {
	var f checkFlags
	c := &cobra.Command{
		Use:   "check",
		Short: "See whether tokens, scopes, Redis, clock and model are right",
		Long: "Check looks at everything that serve needs, with the settings that serve reads, and\n" +
			"says what is good, what is worth a note and what to mend: one line each. It exits with\n" +
			"1 when something is to be mended. It sends no message, and leaves nothing in Redis.\n" +
			"A model is asked for its list of models, and is sent nothing else.\n\n" +
			"With --model it does something else: it has the model draft around twenty invented\n" +
			"problem statements, and counts by check how many drafts could be shown to people, so\n" +
			"that you can judge a model before anybody uses it. It says beforehand how many calls\n" +
			"that takes, and needs no settings but those of the model.\n\n" + settingsHelp,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return check(c, f) },
	}
	c.Flags().BoolVar(&f.json, "json", false, "print the result as JSON")
	c.Flags().BoolVar(&f.ready, "ready", false, "only ask the bot that listens on SOUNDINGS_LISTEN on this machine whether it is ready")
	c.Flags().BoolVar(&f.model, "model", false, "run the quality sheet against the model, and print what passes")
	c.Flags().DurationVar(&f.limit, "limit", sheetLimit, "with --model: how long it may take, such as 5m")
	return c
}

func check(c *cobra.Command, f checkFlags) error {
	environ := environment(os.Environ())
	if f.model {
		if f.ready {
			return wrongf("--ready and --model are two different looks; ask for one at a time")
		}
		s, err := parseSettings(environ)
		if err != nil {
			return err
		}
		if f.limit <= 0 {
			return wrongf("--limit is how long it may take: more than nothing, such as 5m")
		}
		return checkSheet(c, s, f)
	}
	if f.ready {
		s, err := parseSettings(environ)
		if err != nil {
			return err
		}
		return s.readiness(c.Context())
	}
	s, err := readSettings(environ)
	if err != nil {
		return err
	}
	report := reportOf(s.examine(c.Context()))
	if err := report.print(c, f.json); err != nil {
		return err
	}
	if report.Mend > 0 {
		return fmt.Errorf("%d of %d to be mended", report.Mend, len(report.Findings))
	}
	return nil
}

// examine looks at everything. What rests on something broken is left out:
// its mend is that of what it rests on.
func (s settings) examine(ctx context.Context) []finding {
	var who identity
	var all []finding
	if !s.installing() {
		who, all = s.examineToken(ctx)
	}
	all = append(all, s.examineWay(ctx))
	rdb, findings := s.examineRedis(ctx)
	all = append(all, findings...)
	if rdb != nil {
		defer func() { _ = rdb.Close() }() // nothing is waiting to be written
		if s.installing() {
			all = append(all, s.examineInstalls(ctx, rdb)...)
		}
		if who.teamID != "" {
			all = append(all, s.examineChannels(ctx, rdb, who.teamID))
		}
	}
	if s.drafting() {
		all = append(all, s.examineModel(ctx))
	}
	return all
}

// examineRedis opens Redis and looks at it. The client is nil where there is
// none.
func (s settings) examineRedis(ctx context.Context) (redis.UniversalClient, []finding) {
	rdb, err := openRedis(ctx, s.RedisURL)
	if err != nil {
		return nil, []finding{found("redis", toMend, "%v", err)}
	}
	return rdb, examineStore(ctx, rdb)
}

// checkReport is what check prints.
type checkReport struct {
	Good     bool      `json:"good"` // nothing is to be mended
	Mend     int       `json:"mend"` // how many are
	Findings []finding `json:"findings"`
}

func reportOf(findings []finding) checkReport {
	r := checkReport{Findings: findings}
	for _, f := range findings {
		if f.Verdict == toMend {
			r.Mend++
		}
	}
	r.Good = r.Mend == 0
	return r
}

func (r checkReport) print(c *cobra.Command, asJSON bool) error {
	if asJSON {
		return printJSON(c.OutOrStdout(), r)
	}
	return printText(c.OutOrStdout(), r.text())
}

// text has a line for each finding.
func (r checkReport) text() string {
	var b strings.Builder
	table := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, f := range r.Findings {
		fmt.Fprintf(table, "%s\t%s\t%s\n", f.Verdict, f.Item, oneLine(f.Text))
	}
	_ = table.Flush() // into memory
	return b.String()
}
