package journal

import "context"

// Purge removes a kickoff with everything that was noted about it. It can be
// repeated when it was cut off. Nothing may write to the kickoff meanwhile;
// versions begin at 1 again afterwards.
func (j *Journal) Purge(ctx context.Context, key Key) error {
	_, err := onKickoff(j.store, key, "purge everything", func(k string) (any, error) {
		t, err := j.team(key.Team)
		if err != nil {
			return nil, err
		}
		return nil, j.purge(ctx, key, k, t)
	})
	return err
}

func (j *Journal) purge(ctx context.Context, key Key, k, t string) error {
	people, err := j.rdb.SMembers(ctx, k+keyPeople).Result()
	if err != nil {
		return err
	}
	for _, user := range people {
		if err := j.rdb.SRem(ctx, t+keyPerson+plain(user), key.Kickoff).Err(); err != nil {
			return err
		}
	}
	all := make([]string, len(kickoffKeys))
	for i, name := range kickoffKeys {
		all[i] = k + name
	}
	if err := j.rdb.Unlink(ctx, all...).Err(); err != nil {
		return err
	}
	channels, err := j.Index.channels(ctx, key.Team)
	if err != nil {
		return err
	}
	for channel, holder := range channels {
		if holder != key.Kickoff {
			continue
		}
		if err := j.Index.Release(ctx, key.Team, channel, holder); err != nil {
			return err
		}
	}
	// Last, since PurgeTeam finds the kickoff here.
	return j.rdb.SRem(ctx, t+keyKickoffs, key.Kickoff).Err()
}

// PurgeTeam removes all kickoffs of a team and its index, as when the app is
// uninstalled.
func (j *Journal) PurgeTeam(ctx context.Context, team string) error {
	_, err := onTeam(j.store, team, "purge everything", func(t string) (any, error) {
		kickoffs, err := j.Index.All(ctx, team)
		if err != nil {
			return nil, err
		}
		for _, key := range kickoffs {
			if err := j.Purge(ctx, key); err != nil {
				return nil, err
			}
		}
		if err := j.rdb.Unlink(ctx, t+keyGreeted).Err(); err != nil {
			return nil, err
		}
		return nil, j.rdb.SRem(ctx, j.teams(), team).Err()
	})
	return err
}
