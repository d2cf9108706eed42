package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/spf13/cobra"

	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/teams"
	"soundings/bot/words"
)

// purgeFlags are the flags of purge.
type purgeFlags struct {
	team, kickoff, person string
	yes                   bool
}

func newPurge(s settings) *cobra.Command {
	var f purgeFlags
	c := &cobra.Command{
		Use:   "purge",
		Short: "Remove everything that is kept of a team, a kickoff or a person",
		Long: `Purge removes, from the Redis at SOUNDINGS_REDIS_URL, everything that is kept of a
team: its kickoffs, what people entered, what is queued, and the token that it gave.
There is no way back but a backup. Without --yes it only says what that would be.

With --kickoff it removes one kickoff, open or ended, and nothing else. With --person it
puts one person out of all kickoffs of the team: name, ratings, votes, questions, answers
and reasons go, and where they still take part they leave. What others decided upon
stays: wordings, assumptions and tests under nobody's name, and results as they were
computed. Either can be done while the bot runs, and leaves a line in the log that goes
to standard error.

A team that has taken the app away is purged by serve after SOUNDINGS_PURGE_AFTER; this
is for those who do not want to wait. Take the app away from the workplace first, or the
bot goes on there and begins anew. Messages, files and pins in the channels are the
workplace's own and stay; so do backups of Redis.`,
		Example: "  soundings purge --team T0123\n  soundings purge --team T0123 --yes\n" +
			"  soundings purge --team T0123 --kickoff C0456-1795641361 --yes\n  soundings purge --team T0123 --person U0789 --yes",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return purge(c, s, f) },
	}
	c.Flags().StringVar(&f.team, "team", "", "the `id` of the team, such as T0123, as export --list shows it")
	c.Flags().StringVar(&f.kickoff, "kickoff", "", "only this kickoff: its `id`, as export --list shows it")
	c.Flags().StringVar(&f.person, "person", "", "only this person: their `id`, such as U0789")
	c.Flags().BoolVar(&f.yes, "yes", false, "remove it, instead of saying what would be removed")
	return c
}

func purge(c *cobra.Command, s settings, f purgeFlags) error {
	if err := needs(c, "team"); err != nil {
		return err
	}
	rdb, err := openJournal(c.Context(), s)
	if err != nil {
		return err
	}
	defer func() { _ = rdb.Close() }() // nothing is waiting to be written
	switch {
	case f.kickoff != "" && f.person != "":
		return wrongf("--kickoff and --person are two different purges; ask for one at a time")
	case f.kickoff != "":
		return purgeKickoff(c, keeperOf(c, rdb), journal.Key{Team: f.team, Kickoff: f.kickoff}, f.yes)
	case f.person != "":
		return purgePerson(c, keeperOf(c, rdb), f)
	}
	h, err := holdingsOf(c.Context(), rdb, f.team)
	if err != nil {
		return err
	}
	if h.none() {
		return wrongf("nothing is kept of a team %s; soundings export --list names the teams that have kickoffs", f.team)
	}
	if !f.yes {
		return printText(c, h.text()+"Nothing was removed. Add --yes to remove it for good.\n")
	}
	shown := progressOf(c)
	shown.say(lettingGo)
	err = h.remove(c.Context(), rdb)
	shown.end()
	if err != nil {
		return fmt.Errorf("purge team %s: %w; what is left is removed when the command is run again", f.team, err)
	}
	return printText(c, h.text()+"All of it was removed. What stands in the channels is the workplace's own, and backups of Redis are yours to purge.\n")
}

// holdings are what is kept of a team.
type holdings struct {
	team           string
	kickoffs, open int
	known          bool // the team is in the index: kickoffs, or greeted channels
	token          bool
	uninstalled    bool
	uninstall      journal.Uninstall
}

func holdingsOf(ctx context.Context, rdb redis.UniversalClient, team string) (holdings, error) {
	j, h := journal.New(rdb, journal.Options{}), holdings{team: team}
	keys, err := j.Index.All(ctx, team)
	if err != nil {
		return h, err
	}
	h.kickoffs = len(keys)
	open, err := j.Index.Open(ctx)
	if err != nil {
		return h, err
	}
	for _, key := range open {
		if key.Team == team {
			h.open++
		}
	}
	teams, err := j.Index.Teams(ctx)
	if err != nil {
		return h, err
	}
	given, err := installs.New(rdb, nil).Teams(ctx)
	if err != nil {
		return h, err
	}
	h.known, h.token = slices.Contains(teams, team), slices.Contains(given, team)
	h.uninstall, h.uninstalled, err = j.Uninstalls.Get(ctx, team)
	return h, err
}

func (h holdings) none() bool { return h.kickoffs == 0 && !h.known && !h.token && !h.uninstalled }

func (h holdings) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Team %s: %s, %d of them open, with all that people entered.\n", h.team, words.Count(h.kickoffs, "kickoff", "kickoffs"), h.open)
	if h.token {
		fmt.Fprintln(&b, "The token that it gave the app.")
	}
	if h.uninstalled {
		fmt.Fprintf(&b, "It has taken the app away on %s.\n", h.uninstall.Since.Format("2 January 2006, 15:04 MST"))
	} else {
		fmt.Fprintln(&b, "It has not taken the app away, as far as is known here.")
	}
	return b.String()
}

// inHand is how long bots that run may still be at what they took in hand
// before they could know.
const inHand = 4 * time.Second

// lettingGo is shown meanwhile.
const lettingGo = "removing: bots that run are given a few seconds to let go of it"

// waitWith is letGo with somebody who waits.
func waitWith(c *cobra.Command) error {
	shown := progressOf(c)
	shown.say(lettingGo)
	defer shown.end()
	return letGo(c.Context())
}

// letGo waits until bots that run are done with what they have in hand.
func letGo(ctx context.Context) error {
	select {
	case <-time.After(inHand):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// remove marks the team as uninstalled, so that every bot lets go of it, and purges.
func (h holdings) remove(ctx context.Context, rdb redis.UniversalClient) error {
	j := journal.New(rdb, journal.Options{})
	if !h.uninstalled {
		if _, err := j.Uninstalls.Add(ctx, h.team, time.Now()); err != nil {
			return err
		}
	}
	uninstall, uninstalled, err := j.Uninstalls.Get(ctx, h.team)
	if err != nil || !uninstalled {
		return err
	}
	if !uninstall.Purging { // from here on it cannot come back
		begun, err := j.Uninstalls.BeginPurge(ctx, h.team, uninstall)
		if err != nil {
			return err
		}
		if !begun {
			return errors.New("somebody there used the app at this moment")
		}
		uninstall.Purging = true
	}
	if !h.uninstalled {
		if err := letGo(ctx); err != nil {
			return err
		}
	}
	return teams.Purge(ctx, j, jobs.NewAsynq(rdb, jobs.Options{}), installs.New(rdb, nil), h.team, uninstall)
}
