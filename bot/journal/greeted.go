package journal

import (
	"context"
	"fmt"
)

// Greet notes that a channel is greeted, and reports whether it is the first
// time: of several that ask at once, one is first.
func (j *Journal) Greet(ctx context.Context, team, channel string) (first bool, err error) {
	if channel == "" {
		return false, fmt.Errorf("channel: %w", errNameless)
	}
	keys, err := j.team(team)
	if err != nil {
		return false, err
	}
	// The team comes first, so that whoever purges all teams finds it.
	if err := j.rdb.SAdd(ctx, j.teams(), team).Err(); err != nil {
		return false, fmt.Errorf("note that channel %s is greeted: %w", channel, err)
	}
	added, err := j.rdb.SAdd(ctx, keys.greeted, channel).Result()
	if err != nil {
		return false, fmt.Errorf("note that channel %s is greeted: %w", channel, err)
	}
	return added == 1, nil
}

// Ungreet takes Greet back, for a greeting that did not get out.
func (j *Journal) Ungreet(ctx context.Context, team, channel string) error {
	keys, err := j.team(team)
	if err != nil {
		return err
	}
	if err := j.rdb.SRem(ctx, keys.greeted, channel).Err(); err != nil {
		return fmt.Errorf("note that channel %s is not greeted: %w", channel, err)
	}
	return nil
}
