package journal

import (
	"context"
	"fmt"
	"slices"
)

// Join notes that a person takes part in a kickoff. Doing so twice is fine.
func (j *Journal) Join(ctx context.Context, team, user, kickoff string) error {
	if user == "" {
		return fmt.Errorf("person: %w", errNameless)
	}
	keys, index, err := j.bothKeys(Key{Team: team, Kickoff: kickoff})
	if err != nil {
		return err
	}
	// The way back comes first: what the index names, Purge must find.
	for _, add := range []struct{ set, member string }{
		{j.teams(), team},
		{index.kickoffs, kickoff},
		{keys.people, user},
		{index.person + plain(user), kickoff},
	} {
		if err := j.rdb.SAdd(ctx, add.set, add.member).Err(); err != nil {
			return fmt.Errorf("note that %s takes part in kickoff %s: %w", user, kickoff, err)
		}
	}
	return nil
}

// Leave undoes Join.
func (j *Journal) Leave(ctx context.Context, team, user, kickoff string) error {
	keys, index, err := j.bothKeys(Key{Team: team, Kickoff: kickoff})
	if err != nil {
		return err
	}
	err = j.rdb.SRem(ctx, index.person+plain(user), kickoff).Err()
	if err == nil {
		err = j.rdb.SRem(ctx, keys.people, user).Err()
	}
	if err != nil {
		return fmt.Errorf("note that %s has left kickoff %s: %w", user, kickoff, err)
	}
	return nil
}

// Of lists the kickoffs that a person takes part in, in a stable order.
func (j *Journal) Of(ctx context.Context, team, user string) ([]string, error) {
	index, err := j.team(team)
	if err != nil {
		return nil, err
	}
	kickoffs, err := j.rdb.SMembers(ctx, index.person+plain(user)).Result()
	if err != nil {
		return nil, fmt.Errorf("list the kickoffs of %s: %w", user, err)
	}
	slices.Sort(kickoffs)
	return kickoffs, nil
}

// bothKeys builds the keys of a kickoff and those of its team's index.
func (j *Journal) bothKeys(key Key) (kickoffKeys, teamKeys, error) {
	keys, err := j.keys(key)
	if err != nil {
		return kickoffKeys{}, teamKeys{}, err
	}
	index, err := j.team(key.Team)
	return keys, index, err
}
