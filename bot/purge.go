package bot

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"soundings/bot/installs"
	"soundings/bot/journal"
)

// A Purge removes everything that is kept of a team: its token, its jobs, its
// kickoffs and what is noted about them. What stands in the team's channels is
// the team's own, and stays.
type Purge struct {
	Journal  *journal.Journal
	Queue    Queue
	Installs *installs.Store // nil where one token serves
}

// Team purges a team that is away, unless it has come back. It may be cut off
// anywhere: the mark of the absence goes last, and whoever finds it goes on.
func (p Purge) Team(ctx context.Context, team string, a journal.Uninstall) error {
	begun, err := p.Journal.Uninstalls.BeginPurge(ctx, team, a)
	if err != nil || !begun {
		return err
	}
	if p.Installs != nil {
		if err := p.Installs.Delete(ctx, team); err != nil {
			return err
		}
	}
	// Jobs first: one that ran after the journal has gone would find nothing,
	// and their payloads hold people's ids.
	if err := p.Queue.Forget(ctx, ofTeam(team)); err != nil {
		return err
	}
	if err := p.Journal.PurgeTeam(ctx, team); err != nil {
		return err
	}
	return p.Journal.Uninstalls.EndPurge(ctx, team, a)
}

// PurgeAway purges the teams that have been away for PurgeAfter, and goes on
// with purges that were cut off. A team that turns out to have the app is
// taken back instead; where nobody can tell, it waits.
func (b *Bot) PurgeAway(ctx context.Context) error {
	all, err := b.Journal.Uninstalls.All(ctx)
	if err != nil {
		return err
	}
	var failed []error
	for _, team := range slices.Sorted(maps.Keys(all)) {
		if err := b.purgeIfDue(ctx, team, all[team]); err != nil {
			failed = append(failed, fmt.Errorf("purge team %s: %w", team, err))
		}
	}
	return errors.Join(failed...)
}

func (b *Bot) purgeIfDue(ctx context.Context, team string, a journal.Uninstall) error {
	if !a.Purging {
		if b.Clock().Sub(a.Since) < b.PurgeAfter {
			return nil
		}
		if back, err := b.tryBack(ctx, team, a); err != nil || back {
			return err
		}
	}
	return b.purge(ctx, team, a)
}

func (b *Bot) purge(ctx context.Context, team string, a journal.Uninstall) error {
	if err := (Purge{b.Journal, b.Queue, b.Installs}).Team(ctx, team, a); err != nil {
		return err
	}
	b.kept.forget(team)
	b.Logger.Warn("everything kept of a team was purged", "team", team, "away_since", a.Since)
	return nil
}

// teamOf reads the team out of the id of a job; see jobOf.
func teamOf(id string) string {
	_, rest, _ := strings.Cut(id, "/")
	team, _, _ := strings.Cut(rest, "/")
	return team
}
