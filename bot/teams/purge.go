package teams

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"soundings/bot/jobs"
	"soundings/bot/journal"
)

// Purge removes everything that is kept of a team that took the app away,
// unless it has come back: its token, its jobs, its kickoffs and what is noted
// about them. What stands in the team's channels is the team's own, and stays.
//
// It may be cut off anywhere: the mark of the uninstall goes last, and whoever
// finds it goes on.
func Purge(ctx context.Context, j *journal.Journal, q Queue, deleteToken func(ctx context.Context, team string) error, id string, u journal.Uninstall) error {
	begun, err := j.Uninstalls.BeginPurge(ctx, id, u)
	if err != nil || !begun {
		return err
	}
	if err := deleteToken(ctx, id); err != nil {
		return err
	}
	// Jobs first: one that ran after the journal has gone would find nothing,
	// and their payloads hold people's ids.
	if err := q.Forget(ctx, jobs.OfTeam(id)); err != nil {
		return err
	}
	if err := j.PurgeTeam(ctx, id); err != nil {
		return err
	}
	return j.Uninstalls.EndPurge(ctx, id, u)
}

// PurgeAway purges the teams that took the app away PurgeAfter ago, and goes
// on with purges that were cut off. A team that turns out to have the app is
// taken back instead; where nobody can tell, it waits.
func (t *Teams) PurgeAway(ctx context.Context) error {
	all, err := t.Journal.Uninstalls.All(ctx)
	if err != nil {
		return err
	}
	var failed []error
	for _, id := range slices.Sorted(maps.Keys(all)) {
		if err := t.purgeIfDue(ctx, id, all[id]); err != nil {
			failed = append(failed, fmt.Errorf("purge team %s: %w", id, err))
		}
	}
	return errors.Join(failed...)
}

func (t *Teams) purgeIfDue(ctx context.Context, id string, u journal.Uninstall) error {
	if !u.Purging {
		if t.Clock().Sub(u.Since) < t.PurgeAfter {
			return nil
		}
		if back, err := t.tryBack(ctx, id, u); err != nil || back {
			return err
		}
	}
	return t.purge(ctx, id, u)
}

func (t *Teams) purge(ctx context.Context, id string, u journal.Uninstall) error {
	if err := Purge(ctx, t.Journal, t.Queue, t.Tokens.Forget, id, u); err != nil {
		return err
	}
	t.Kickoffs.Forget(id)
	t.Logger.Warn("everything kept of a team was purged", "team", id, "away_since", u.Since)
	return nil
}
