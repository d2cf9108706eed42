package teams

import (
	"context"
	"time"

	"soundings/bot/installs"
	"soundings/bot/jobs"
	"soundings/bot/journal"
)

// Uninstall ends what is sent to a team, and forgets its token. What its
// kickoffs hold stays where it is until PurgeAway. at is when the app was
// taken away, as the platform says: an install since then stands.
func (t *Teams) Uninstall(ctx context.Context, id, why string, at time.Time) error {
	// The token goes first: one that is there beside the mark has come since.
	gone, err := t.Tokens.Drop(ctx, id, at)
	if err != nil {
		return err
	}
	if !gone {
		t.Logger.Info("a team has installed the app again since it took it away", "team", id, "event", why)
		return nil
	}
	since := at
	if now := t.Clock(); now.Before(since) {
		since = now
	}
	first, err := t.Journal.Uninstalls.Add(ctx, id, since)
	if err == nil && first {
		t.Logger.Warn("a team has taken the app away; nothing is sent there", "team", id, "event", why, "purge_after", t.PurgeAfter.String())
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
func (t *Teams) Install(ctx context.Context, store *installs.Store, i installs.Install) error {
	uninstall, away, err := t.Journal.Uninstalls.Get(ctx, i.Team)
	if err != nil {
		return err
	}
	if away && uninstall.Purging {
		if err := t.purge(ctx, i.Team, uninstall); err != nil {
			return err
		}
		away = false
	}
	if err := store.Save(ctx, i); err != nil || !away {
		return err
	}
	return t.comeBack(ctx, i.Team, uninstall)
}

// Served takes up again what was going on in a team whose token is known to be
// good, as when the program starts.
func (t *Teams) Served(ctx context.Context, id string) error {
	uninstall, away, err := t.Journal.Uninstalls.Get(ctx, id)
	if err != nil || !away || uninstall.Purging {
		return err
	}
	return t.comeBack(ctx, id, uninstall)
}

// tryBack lets a team go on that has the app again.
func (t *Teams) tryBack(ctx context.Context, id string, u journal.Uninstall) (bool, error) {
	if u.Purging {
		return false, nil
	}
	back, err := t.Tokens.Served(ctx, id)
	if err != nil || !back {
		return false, err
	}
	return true, t.comeBack(ctx, id, u)
}

// comeBack takes up again what was going on in a team.
func (t *Teams) comeBack(ctx context.Context, id string, u journal.Uninstall) error {
	// While the mark stands nothing is queued, so this can be cut off anywhere
	// and done again. Jobs that were given up meanwhile are known by their ids:
	// forgotten, they can come again, and what was done is found done.
	if err := t.Queue.Forget(ctx, jobs.OfTeam(id)); err != nil {
		return err
	}
	keys, err := t.open(ctx, id)
	if err != nil {
		return err
	}
	for _, key := range keys {
		if err := t.Journal.Marks.ResetQueued(ctx, key); err != nil {
			return err
		}
	}
	back, err := t.Journal.Uninstalls.Remove(ctx, id, u)
	if err != nil || !back {
		return err
	}
	t.Logger.Info("a team has the app again", "team", id)
	for _, key := range keys {
		if err := t.Kickoffs.SweepKickoff(ctx, key); err != nil {
			t.Logger.Warn("what waited was not queued yet; the sweeper will find it", "kickoff", key.Kickoff, "error", err)
		}
	}
	return nil
}

// open lists the open kickoffs of a team.
func (t *Teams) open(ctx context.Context, id string) ([]journal.Key, error) {
	all, err := t.Journal.Index.Open(ctx)
	var keys []journal.Key
	for _, key := range all {
		if key.Team == id {
			keys = append(keys, key)
		}
	}
	return keys, err
}
