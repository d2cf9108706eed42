package journal

import (
	"context"
	"fmt"
)

// Purge removes a kickoff with everything that was noted about it. It can be
// repeated when it was cut off. Nothing may write to the kickoff meanwhile;
// versions begin at 1 again afterwards.
func (j *Journal) Purge(ctx context.Context, key Key) error {
	keys, index, err := j.bothKeys(key)
	if err != nil {
		return err
	}
	if err := j.removePeople(ctx, keys, index, key.Kickoff); err != nil {
		return fmt.Errorf("purge kickoff %s: %w", key.Kickoff, err)
	}
	if err := j.rdb.Unlink(ctx, keys.all()...).Err(); err != nil {
		return fmt.Errorf("purge kickoff %s: %w", key.Kickoff, err)
	}
	if err := j.releaseChannels(ctx, key); err != nil {
		return fmt.Errorf("purge kickoff %s: %w", key.Kickoff, err)
	}
	// Last, since PurgeTeam finds the kickoff here.
	if err := j.rdb.SRem(ctx, index.kickoffs, key.Kickoff).Err(); err != nil {
		return fmt.Errorf("purge kickoff %s: %w", key.Kickoff, err)
	}
	return nil
}

func (j *Journal) removePeople(ctx context.Context, keys kickoffKeys, index teamKeys, kickoff string) error {
	people, err := j.rdb.SMembers(ctx, keys.people).Result()
	if err != nil {
		return err
	}
	for _, user := range people {
		if err := j.rdb.SRem(ctx, index.person+plain(user), kickoff).Err(); err != nil {
			return err
		}
	}
	return nil
}

func (j *Journal) releaseChannels(ctx context.Context, key Key) error {
	channels, err := j.Index.channels(ctx, key.Team)
	if err != nil {
		return err
	}
	for channel, holder := range channels {
		if holder != key.Kickoff {
			continue
		}
		if err := j.Index.Release(ctx, key.Team, channel, key.Kickoff); err != nil {
			return err
		}
	}
	return nil
}

// PurgeTeam removes all kickoffs of a team and its index, as when the app is
// uninstalled.
func (j *Journal) PurgeTeam(ctx context.Context, team string) error {
	kickoffs, err := j.Index.All(ctx, team)
	if err != nil {
		return fmt.Errorf("purge team %s: %w", team, err)
	}
	for _, key := range kickoffs {
		if err := j.Purge(ctx, key); err != nil {
			return fmt.Errorf("purge team %s: %w", team, err)
		}
	}
	keys, err := j.team(team)
	if err == nil {
		err = j.rdb.Unlink(ctx, keys.greeted).Err()
	}
	if err == nil {
		err = j.rdb.SRem(ctx, j.teams(), team).Err()
	}
	if err != nil {
		return fmt.Errorf("purge team %s: %w", team, err)
	}
	return nil
}
