package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"soundings/bot/words"
)

// checkFlags are the flags of check.
type checkFlags struct {
	json, ready, model bool
	limit              time.Duration // of the quality sheet
}

func newCheck(s settings) *cobra.Command {
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
		RunE: func(c *cobra.Command, _ []string) error {
			switch {
			case f.model && f.ready:
				return wrongf("--ready and --model are two different looks; ask for one at a time")
			case f.model:
				return checkSheet(c, s, f)
			case f.ready:
				return checkReady(c.Context(), s)
			}
			return check(c, s, f.json)
		},
	}
	c.Flags().BoolVar(&f.json, "json", false, "print the result as JSON")
	c.Flags().BoolVar(&f.ready, "ready", false, "only ask the bot that listens on SOUNDINGS_LISTEN on this machine whether it is ready")
	c.Flags().BoolVar(&f.model, "model", false, "run the quality sheet against the model, and print what passes")
	c.Flags().DurationVar(&f.limit, "limit", sheetLimit, "with --model: how long it may take, such as 5m")
	return c
}

func check(c *cobra.Command, s settings, asJSON bool) error {
	if err := s.check(); err != nil {
		return err
	}
	k := checkup{settings: s}
	k.examine(c.Context())
	r := k.result()
	if err := printResult(c, asJSON, r, r.text); err != nil {
		return err
	}
	if r.Mend > 0 {
		return fmt.Errorf("%d of %d to be mended", r.Mend, len(r.Findings))
	}
	return nil
}

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

// A checkup looks at everything, and keeps what it finds in order.
type checkup struct {
	settings
	findings
}

type findings []finding

func (all *findings) add(item, verdict, text string) {
	*all = append(*all, finding{item, verdict, text})
}

func (all *findings) mend(item string, err error) { all.add(item, toMend, err.Error()) }

// A row of a table of what may be so of an item.
type row struct {
	so            bool
	verdict, text string
}

// first adds what the first row says that is so.
func (all *findings) first(item string, rows ...row) {
	if i := slices.IndexFunc(rows, func(r row) bool { return r.so }); i >= 0 {
		all.add(item, rows[i].verdict, rows[i].text)
	}
}

// examine looks at everything. What rests on something broken is left out:
// its mend is that of what it rests on.
func (k *checkup) examine(ctx context.Context) {
	var who identity
	if !k.installing() {
		who = k.examineToken(ctx)
	}
	k.examineWay(ctx)
	if rdb := k.examineRedis(ctx); rdb != nil {
		defer func() { _ = rdb.Close() }() // nothing is waiting to be written
		if k.installing() {
			k.examineInstalls(ctx, rdb)
		}
		k.examineUninstalls(ctx, rdb)
		if who.teamID != "" {
			k.examineChannels(ctx, rdb, "channels", who.teamID, k.BotToken)
		}
	}
	if k.ModelURL != "" {
		k.examineModel(ctx)
	}
}

// A checkResult is what check prints.
type checkResult struct {
	Good     bool     `json:"good"` // nothing is to be mended
	Mend     int      `json:"mend"` // how many are
	Findings findings `json:"findings"`
}

func (all findings) result() checkResult {
	r := checkResult{Findings: all}
	for _, f := range all {
		if f.Verdict == toMend {
			r.Mend++
		}
	}
	r.Good = r.Mend == 0
	return r
}

// text has a line for each finding.
func (r checkResult) text() string {
	var lines []string
	for _, f := range r.Findings {
		text := words.HarmlessLine(strings.ReplaceAll(f.Text, "\t", " "))
		lines = append(lines, f.Verdict+"\t"+f.Item+"\t"+text)
	}
	return aligned(2, lines)
}

// checkReady asks a bot that runs beside us on this machine whether it is
// ready: the health check of a container without a shell.
func checkReady(ctx context.Context, s settings) error {
	if s.Listen == "" {
		return wrongf("SOUNDINGS_LISTEN is missing: without it the bot cannot be asked whether it is ready")
	}
	if err := firstBroken(listenRule(s.Listen)); err != nil {
		return wrong(err)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+besideUs(s.Listen)+"/readyz", nil)
	if err != nil {
		return wrongf("SOUNDINGS_LISTEN is no address that can be asked")
	}
	answer, err := (&http.Client{Timeout: 2 * time.Second}).Do(r)
	if err != nil {
		return errors.New("no bot answers at SOUNDINGS_LISTEN: start it with soundings serve")
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("the bot is not ready (%s): its log says why", answer.Status)
	}
	return nil
}

// besideUs is where to ask on this machine what listens at address: an empty
// host, or one that stands for all, is this one.
func besideUs(address string) string {
	host, port, _ := net.SplitHostPort(address) // it was checked
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return net.JoinHostPort(host, port)
}
