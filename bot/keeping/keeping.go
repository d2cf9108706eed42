// Package keeping sees that what people entered is kept no longer than it
// should be: kickoffs that ended long ago go by themselves ([Keeper.Tidy]), one
// kickoff or one person when somebody asks ([Keeper.Purge], [Keeper.Erase]).
// [Keeper.Held] is all that is kept about a person.
//
// What is removed leaves a line in the log that says so, and of whom by id.
// What stands in channels is the team's own; what a team that took the app away
// holds is for package teams. Start with [Keeper].
package keeping

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"soundings/bot/jobs"
	"soundings/bot/journal"
	"soundings/bot/kickoffs"
	"soundings/flows/state"
)

// A Keeper removes what is not to be kept. Every field is needed.
type Keeper struct {
	Journal  *journal.Journal
	Queue    jobs.Queue
	Kickoffs *kickoffs.Store
	Clock    func() time.Time
	Logger   *slog.Logger

	// KeepEnded is how long a kickoff is kept after its end.
	KeepEnded time.Duration
}

// packAfter is how long after its end a kickoff is packed: its last messages
// stand by then.
const packAfter = time.Hour

// Tidy removes the kickoffs that ended KeepEnded ago, and packs those that
// ended since. It can be cut off
// anywhere, and done by several processes at once.
func (k *Keeper) Tidy(ctx context.Context) error {
	teams, err := k.Journal.Index.Teams(ctx)
	if err != nil {
		return err
	}
	uninstalled, err := k.Journal.Uninstalls.All(ctx)
	if err != nil {
		return err
	}
	var failed []error
	for _, team := range teams {
		if _, is := uninstalled[team]; !is { // else all of it is about to be purged
			failed = append(failed, k.tidyTeam(ctx, team))
		}
	}
	return errors.Join(failed...)
}

func (k *Keeper) tidyTeam(ctx context.Context, team string) error {
	all, err := k.Journal.Index.All(ctx, team)
	if err != nil {
		return err
	}
	channels, err := k.Journal.Index.Channels(ctx, team)
	if err != nil {
		return err
	}
	ended, err := k.Journal.Index.Ended(ctx, team)
	if err != nil {
		return err
	}
	open := map[string]bool{}
	for _, kickoff := range channels {
		open[kickoff] = true
	}
	var failed []error
	for _, key := range all {
		at, known := ended[key.Kickoff]
		if open[key.Kickoff] {
			continue
		}
		if !known {
			at, known, err = k.noteEnd(ctx, key)
			failed = append(failed, err)
		}
		switch since := k.Clock().Sub(at); {
		case !known:
		case since >= k.KeepEnded:
			failed = append(failed, k.Purge(ctx, key, "its time was over"))
		case since >= packAfter:
			failed = append(failed, k.Kickoffs.Pack(ctx, key))
		}
	}
	return errors.Join(failed...)
}

// noteEnd notes when a kickoff ended that an older release saw end.
func (k *Keeper) noteEnd(ctx context.Context, key journal.Key) (at time.Time, ended bool, err error) {
	kickoff, err := k.Kickoffs.Load(ctx, key)
	if err != nil || kickoff.Stage != state.StageEnded {
		return at, false, err
	}
	if at = kickoff.Underway.Decision.At; at.Before(kickoff.Window.Closed) {
		at = kickoff.Window.Closed
	}
	return at, true, k.Journal.Index.End(ctx, key, at)
}

// Purge removes a kickoff, open or ended, with everything that was noted about
// it and its jobs. Jobs that are at work may still note something: where the
// kickoff is open, it is to be done once more after a few seconds.
func (k *Keeper) Purge(ctx context.Context, key journal.Key, why string) error {
	err := k.purge(ctx, key)
	if err != nil {
		return fmt.Errorf("purge kickoff %s of team %s: %w", key.Kickoff, key.Team, err)
	}
	k.Logger.Warn("audit: a kickoff was removed, with everything kept of it", "team", key.Team, "kickoff", key.Kickoff, "why", why)
	return nil
}

func (k *Keeper) purge(ctx context.Context, key journal.Key) error {
	channels, err := k.Journal.Index.Channels(ctx, key.Team)
	if err != nil {
		return err
	}
	for channel, kickoff := range channels {
		if kickoff != key.Kickoff {
			continue
		}
		if err := k.Journal.Index.Release(ctx, key.Team, channel, kickoff); err != nil {
			return err
		}
	}
	if err := k.Queue.Forget(ctx, jobs.OfKickoff(key.Team, key.Kickoff)); err != nil {
		return err
	}
	defer k.Kickoffs.Forget(key.Team)
	return k.Journal.Purge(ctx, key)
}
