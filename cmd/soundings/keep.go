package main

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/spf13/cobra"

	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/keeping"
	"soundings/bot/kickoffs"
	"soundings/bot/words"
	"soundings/bot/zones"
	"soundings/flows"
	"soundings/flows/state"
)

// nobody follows what a command writes: the sweeper of a bot finds it.
type nobody struct{}

func (nobody) Follow(context.Context, kickoffs.Entry, []flows.Effect) error { return nil }

// keeperOf removes, or gives out, what is kept in a Redis. Its log goes to
// standard error.
func keeperOf(c *cobra.Command, rdb redis.UniversalClient) *keeping.Keeper {
	log := slog.New(slog.NewJSONHandler(c.ErrOrStderr(), nil))
	j := journal.New(rdb, journal.Options{})
	store := &kickoffs.Store{Journal: j, Follower: nobody{}, Zones: new(zones.Cache), Clock: time.Now, Logger: log}
	return &keeping.Keeper{Journal: j, Queue: jobs.NewAsynq(rdb, jobs.Options{}), Kickoffs: store, Clock: time.Now, Logger: log}
}

// What stays when something was removed here.
const staysElsewhere = "What stands in the channels is the workplace's own, and backups of Redis are yours to purge.\n"

func purgeKickoff(c *cobra.Command, keeper *keeping.Keeper, key journal.Key, yes bool) error {
	k, err := keeper.Kickoffs.Load(c.Context(), key)
	if err != nil {
		return err
	}
	if k.Version == 0 {
		return wrongf("there is no kickoff %s in team %s; soundings export --list names those that there are", key.Kickoff, key.Team)
	}
	about := fmt.Sprintf("Kickoff %s of team %s, %q, in stage %s, with all that people entered.\n", key.Kickoff, key.Team, words.HarmlessLine(k.Brief.Title), k.Stage)
	if !yes {
		return printText(c, about+"Nothing was removed. Add --yes to remove it for good.\n")
	}
	const why = "somebody asked for it"
	if err := keeper.Purge(c.Context(), key, why); err != nil {
		return err
	}
	if k.Stage != state.StageEnded {
		if err := waitWith(c); err != nil {
			return err
		}
		if err := keeper.Purge(c.Context(), key, why+", once more"); err != nil {
			return err
		}
	}
	return printText(c, about+"All of it was removed. "+staysElsewhere)
}

func purgePerson(c *cobra.Command, keeper *keeping.Keeper, f purgeFlags) error {
	if !f.yes {
		held, err := keeper.Held(c.Context(), f.team, f.person)
		if err != nil {
			return err
		}
		return printText(c, fmt.Sprintf("Person %s is named in %s of team %s.\nNothing was removed. Add --yes to remove name, words and marks for good; soundings export --person shows them.\n",
			words.HarmlessLine(f.person), words.Count(len(held.Kickoffs), "kickoff", "kickoffs"), f.team))
	}
	found, err := keeper.Erase(c.Context(), f.team, f.person)
	if err == nil {
		err = waitWith(c)
	}
	if err == nil { // for what bots had in hand
		_, err = keeper.Erase(c.Context(), f.team, f.person)
	}
	if err != nil {
		return fmt.Errorf("%w; what is left is removed when the command is run again", err)
	}
	return printText(c, fmt.Sprintf("Person %s was removed from %s of team %s. %s",
		words.HarmlessLine(f.person), words.Count(found, "kickoff", "kickoffs"), f.team, staysElsewhere))
}

func exportPerson(c *cobra.Command, keeper *keeping.Keeper, f exportFlags) error {
	held, err := keeper.Held(c.Context(), f.team, f.person)
	if err != nil {
		return err
	}
	keeper.Logger.Warn("audit: all that is kept about a person was given out", "team", f.team, "person", f.person, "kickoffs", len(held.Kickoffs))
	return printResult(c, true, held, nil)
}
