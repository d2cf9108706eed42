package teams

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"soundings/bot/chat"
	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
)

// Uninstall ends what is sent to a team, and forgets its token. What its
// kickoffs hold stays where it is until PurgeDue. at is when the app was
// uninstalled, as the platform says: an install since then stands.
func (t *Teams) Uninstall(ctx context.Context, id, why string, at time.Time) error {
	if t.Installs != nil {
		// The token goes first: one that is there beside the mark has come since.
		gone, err := t.Installs.DeleteUntil(ctx, id, at)
		if err != nil {
			return err
		}
		if !gone {
			t.Logger.Info("a team has installed the app again since it uninstalled it", "team", id, "event", why)
			return nil
		}
	}
	since := at
	if now := t.Clock(); now.Before(since) {
		since = now
	}
	first, err := t.Journal.Uninstalls.Add(ctx, id, since)
	t.changed(id)
	if err == nil && first {
		t.Logger.Warn("a team has uninstalled the app; nothing is sent there", "team", id, "event", why, "purge_after", t.PurgeAfter.String())
	}
	t.Kickoffs.Forget(id)
	return err
}

// Revoked stops a team whose token the platform does not take any more.
func (t *Teams) Revoked(ctx context.Context, team Team) error {
	at := team.since // a token that came since is another one
	if at.IsZero() {
		at = t.Clock()
	}
	return t.Uninstall(ctx, team.ID, "the token was revoked", at)
}

// Install takes a new install into the store: it keeps the token, and takes up
// again what was going on. A purge that was cut off is brought to its end
// first, so that nothing new falls to it. It can be repeated.
func (t *Teams) Install(ctx context.Context, i installs.Install) error {
	u, uninstalled, err := t.Journal.Uninstalls.Get(ctx, i.Team)
	if err != nil {
		return err
	}
	if uninstalled && u.Purging {
		if err := t.purge(ctx, i.Team, u); err != nil {
			return err
		}
		uninstalled = false
	}
	err = t.Installs.Save(ctx, i)
	t.changed(i.Team)
	if err != nil || !uninstalled {
		return err
	}
	return t.resume(ctx, i.Team, u)
}

// Resume takes up again what was going on in a team whose token is known to be
// good, as when the program starts.
func (t *Teams) Resume(ctx context.Context, id string) error {
	u, uninstalled, err := t.Journal.Uninstalls.Get(ctx, id)
	if err != nil || !uninstalled || u.Purging {
		return err
	}
	return t.resume(ctx, id, u)
}

func (t *Teams) resumeIfInstalled(ctx context.Context, id string, u journal.Uninstall) (bool, error) {
	if u.Purging {
		return false, nil
	}
	installed, err := t.installed(ctx, id)
	if err != nil || !installed {
		return false, err
	}
	return true, t.resume(ctx, id, u)
}

// installed reports whether a team that uninstalled the app has it again. An
// error means that nobody knows. Of a token in the settings only the platform
// can tell whether it is good.
func (t *Teams) installed(ctx context.Context, id string) (bool, error) {
	if t.Installs != nil {
		_, err := t.Installs.Get(ctx, id)
		if errors.Is(err, installs.ErrNotInstalled) {
			return false, nil
		}
		return err == nil, err
	}
	whose, err := t.Chat.Team(ctx)
	if errors.Is(err, chat.ErrForbidden) {
		return false, nil
	}
	return err == nil && whose == id, err
}

func (t *Teams) resume(ctx context.Context, id string, u journal.Uninstall) error {
	// While the mark stands nothing is queued, so this can be cut off anywhere
	// and done again. Jobs that were given up meanwhile are known by their ids:
	// forgotten, they can come again, and what was done is found done.
	if err := t.Queue.Forget(ctx, jobs.OfTeam(id)); err != nil {
		return err
	}
	keys, err := t.Journal.Index.Open(ctx)
	if err != nil {
		return err
	}
	keys = slices.DeleteFunc(keys, func(key journal.Key) bool { return key.Team != id })
	for _, key := range keys {
		if err := t.Journal.Marks.ResetQueued(ctx, key); err != nil {
			return err
		}
	}
	removed, err := t.Journal.Uninstalls.Remove(ctx, id, u)
	if err != nil || !removed {
		return err
	}
	t.Logger.Info("a team has installed the app again", "team", id)
	for _, key := range keys {
		if err := t.Kickoffs.SweepKickoff(ctx, key); err != nil {
			t.Logger.Warn("what waited was not queued yet; the sweeper will find it", "kickoff", key.Kickoff, "error", err)
		}
	}
	return nil
}

// PurgeDue purges the teams that uninstalled the app PurgeAfter ago, and goes
// on with purges that were cut off. A team that turns out to have the app is
// served again instead; where nobody can tell, it waits.
func (t *Teams) PurgeDue(ctx context.Context) error {
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
		if resumed, err := t.resumeIfInstalled(ctx, id, u); err != nil || resumed {
			return err
		}
	}
	return t.purge(ctx, id, u)
}

func (t *Teams) purge(ctx context.Context, id string, u journal.Uninstall) error {
	if err := Purge(ctx, t.Journal, t.Queue, t.Installs, id, u); err != nil {
		return err
	}
	t.Kickoffs.Forget(id)
	t.Logger.Warn("everything kept of a team was purged", "team", id, "uninstalled", u.Since)
	return nil
}

// Purge removes everything that is kept of a team that uninstalled the app,
// unless it has come back: its token, where there is a store of them, its jobs,
// its kickoffs and what is noted about them. What stands in the team's channels
// is the team's own, and stays.
//
// It may be cut off anywhere: the mark of the uninstall goes last, and whoever
// finds it goes on.
func Purge(ctx context.Context, j *journal.Journal, q jobs.Queue, tokens *installs.Store, id string, u journal.Uninstall) error {
	begun, err := j.Uninstalls.BeginPurge(ctx, id, u)
	if err != nil || !begun {
		return err
	}
	if tokens != nil {
		if err := tokens.Delete(ctx, id); err != nil {
			return err
		}
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
