package main

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"soundings/bot/journal"
	"soundings/bot/words"
	"soundings/flows"
)

// readKickoff folds the whole journal of a kickoff. Its Version is 0 where
// there is none.
func readKickoff(ctx context.Context, j *journal.Journal, key journal.Key) (flows.Kickoff, error) {
	entries, err := j.Read(ctx, key, 0)
	if err != nil {
		return flows.Kickoff{}, err
	}
	records := make([]flows.Record, len(entries))
	for i, e := range entries {
		if err := json.Unmarshal(e.Data, &records[i]); err != nil {
			return flows.Kickoff{}, fmt.Errorf("read kickoff %s: entry %d: %w; was it written by a later release?", key.Kickoff, e.Version, err)
		}
	}
	return flows.Fold(flows.Kickoff{}, 0, records), nil
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
// One that was claimed and never written to is passed over.
func list(ctx context.Context, j *journal.Journal, team string) ([]listed, error) {
	teams, err := j.Index.Teams(ctx)
	if err != nil {
		return nil, err
	}
	if team != "" {
		teams = []string{team}
	}
	all := []listed{}
	for _, team := range teams {
		keys, err := j.Index.All(ctx, team)
		if err != nil {
			return nil, err
		}
		for _, key := range keys {
			k, err := readKickoff(ctx, j, key)
			if err != nil {
				return nil, err
			}
			if k.Version > 0 {
				all = append(all, listed{key.Team, key.Kickoff, k.Channel, string(k.Stage), k.Started.UTC(), k.Brief.Title})
			}
		}
	}
	return all, nil
}

func (f exportFlags) printList(c *cobra.Command, j *journal.Journal) error {
	all, err := list(c.Context(), j, f.team)
	if err != nil {
		return err
	}
	if f.json {
		return printJSON(c.OutOrStdout(), all)
	}
	return printText(c.OutOrStdout(), listText(all))
}

// listText is the list in words, with a line for each kickoff.
func listText(all []listed) string {
	if len(all) == 0 {
		return "There are no kickoffs.\n"
	}
	var b strings.Builder
	table := tabwriter.NewWriter(&b, 0, 0, 3, ' ', 0)
	fmt.Fprintln(table, "team\tkickoff\tchannel\tstage\tstarted\ttitle")
	for _, l := range all {
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\t%s\n", l.Team, l.Kickoff, l.Channel, l.Stage, l.Started.Format("2 Jan 2006"), words.HarmlessLine(l.Title))
	}
	_ = table.Flush() // into memory
	return b.String()
}
