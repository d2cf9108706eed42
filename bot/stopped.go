package bot

import (
	"context"
	"errors"
	"time"

	"soundings/bot/installs"
	"soundings/bot/journal"
)

// A team that takes the app away is marked in the journal, where every process
// sees it: nothing is sent there any more, and after a grace nothing is left
// of it here. Put back before that, everything goes on where it was.

// stoppedPause is how long a job waits for a team to put the app back. Policy
// of the queue says how often; what is given up meanwhile is found again when
// the team is back.
const stoppedPause = time.Hour

var errAway = errors.New("the team has taken the app away")

// stop ends what is sent to a team, and forgets its token. What its kickoffs
// hold stays where it is until PurgeAway. at is when the app was taken away,
// as the platform says: an install since then stands.
func (b *Bot) stop(ctx context.Context, team, why string, at time.Time) error {
	if b.Installs != nil {
		// The token goes first: one that is there beside the mark has come since.
		gone, err := b.Installs.DeleteUntil(ctx, team, at)
		if err != nil {
			return err
		}
		if !gone {
			b.Logger.Info("a team has installed the app again since it took it away", "team", team, "event", why)
			return nil
		}
	}
	since := at
	if now := b.Clock(); now.Before(since) {
		since = now
	}
	first, err := b.Journal.Uninstalls.Add(ctx, team, since)
	if err == nil && first {
		b.Logger.Warn("a team has taken the app away; nothing is sent there", "team", team, "event", why, "purge_after", b.PurgeAfter.String())
	}
	b.kept.forget(team)
	return err
}

// happened is when the platform says that something happened: the end of that
// second, or now where it says nothing that can be.
func (b *Bot) happened(unix int64) time.Time {
	now, then := b.Clock(), time.Unix(unix+1, 0).Add(-time.Nanosecond)
	if unix <= 0 || then.After(now.Add(time.Minute)) {
		return now
	}
	return then
}

// isBack reports whether a team that was away has the app again. With
// installs its token says so, else the platform is asked about ours. An error
// means that nobody knows.
func (b *Bot) isBack(ctx context.Context, team string) (bool, error) {
	if b.Installs != nil {
		_, err := b.Installs.Get(ctx, team)
		if errors.Is(err, installs.ErrNotInstalled) {
			return false, nil
		}
		return err == nil, err
	}
	whose, err := b.Chat.Team(ctx)
	if errors.Is(err, ErrClosedDoor) {
		return false, nil
	}
	return err == nil && whose == team, err
}

// comeBack takes up again what was going on in a team.
func (b *Bot) comeBack(ctx context.Context, team string, a journal.Uninstall) error {
	// While the mark stands nothing is queued, so this can be cut off anywhere
	// and done again. Jobs that were given up meanwhile are known by their ids:
	// forgotten, they can come again, and what was done is found done.
	if err := b.Queue.Forget(ctx, ofTeam(team)); err != nil {
		return err
	}
	keys, err := b.openIn(ctx, team)
	if err != nil {
		return err
	}
	for _, key := range keys {
		if err := b.Journal.Marks.ResetQueued(ctx, key); err != nil {
			return err
		}
	}
	back, err := b.Journal.Uninstalls.Remove(ctx, team, a)
	if err != nil || !back {
		return err
	}
	b.Logger.Info("a team has the app again", "team", team)
	for _, key := range keys {
		if err := b.sweep(ctx, key); err != nil {
			b.Logger.Warn("what waited was not queued yet; the sweeper will find it", "kickoff", key.Kickoff, "error", err)
		}
	}
	return nil
}

// openIn lists the open kickoffs of a team.
func (b *Bot) openIn(ctx context.Context, team string) ([]journal.Key, error) {
	all, err := b.Journal.Index.Open(ctx)
	var keys []journal.Key
	for _, key := range all {
		if key.Team == team {
			keys = append(keys, key)
		}
	}
	return keys, err
}
