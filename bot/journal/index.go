package journal

import (
	"context"
	"fmt"
	"slices"
)

// An Index lists, by team, the kickoffs, the channels they hold, and the
// people who take part in them.
type Index struct{ store }

// Teams lists the teams that have kickoffs, open or ended, or a channel that
// was greeted, in a stable order.
func (x *Index) Teams(ctx context.Context) ([]string, error) {
	teams, err := x.rdb.SMembers(ctx, x.teams()).Result()
	if err != nil {
		return nil, fmt.Errorf("list the teams: %w", err)
	}
	slices.Sort(teams)
	return teams, nil
}

// Open lists the kickoffs that hold a channel, over all teams, in a stable
// order. A kickoff holds its channel from before its first entry until after
// its last one has had its effects, so this is what a sweeper has to look at.
func (x *Index) Open(ctx context.Context) ([]Key, error) {
	teams, err := x.Teams(ctx)
	if err != nil {
		return nil, err
	}
	var open []Key
	for _, team := range teams {
		channels, err := x.channels(ctx, team)
		if err != nil {
			return nil, err
		}
		var kickoffs []string
		for _, kickoff := range channels {
			kickoffs = append(kickoffs, kickoff)
		}
		open = append(open, keysOf(team, kickoffs)...)
	}
	return open, nil
}

// channels returns the held channels of a team, each with its kickoff.
func (x *Index) channels(ctx context.Context, team string) (map[string]string, error) {
	keys, err := x.team(team)
	if err != nil {
		return nil, err
	}
	held, err := x.rdb.HGetAll(ctx, keys.channels).Result()
	if err != nil {
		return nil, fmt.Errorf("list the channels of team %s: %w", team, err)
	}
	for channel, value := range held {
		held[channel] = holderOf(value)
	}
	return held, nil
}

// All lists every kickoff of a team that ever claimed a channel or was
// joined, ended ones too, until it is purged.
func (x *Index) All(ctx context.Context, team string) ([]Key, error) {
	keys, err := x.team(team)
	if err != nil {
		return nil, err
	}
	kickoffs, err := x.rdb.SMembers(ctx, keys.kickoffs).Result()
	if err != nil {
		return nil, fmt.Errorf("list the kickoffs of team %s: %w", team, err)
	}
	return keysOf(team, kickoffs), nil
}

// keysOf sorts kickoffs, each once, into keys.
func keysOf(team string, kickoffs []string) []Key {
	slices.Sort(kickoffs)
	kickoffs = slices.Compact(kickoffs)
	keys := make([]Key, len(kickoffs))
	for i, kickoff := range kickoffs {
		keys[i] = Key{Team: team, Kickoff: kickoff}
	}
	return keys
}

// Join notes that a person takes part in a kickoff. Doing so twice is fine.
func (x *Index) Join(ctx context.Context, team, user, kickoff string) error {
	if user == "" {
		return fmt.Errorf("person: %w", errNameless)
	}
	keys, index, err := x.bothKeys(Key{Team: team, Kickoff: kickoff})
	if err != nil {
		return err
	}
	// The way back comes first: what the index names, Purge must find.
	for _, add := range []struct{ set, member string }{
		{x.teams(), team},
		{index.kickoffs, kickoff},
		{keys.people, user},
		{index.person + plain(user), kickoff},
	} {
		if err := x.rdb.SAdd(ctx, add.set, add.member).Err(); err != nil {
			return fmt.Errorf("note that %s takes part in kickoff %s: %w", user, kickoff, err)
		}
	}
	return nil
}

// Of lists the kickoffs that a person takes part in, in a stable order.
func (x *Index) Of(ctx context.Context, team, user string) ([]string, error) {
	index, err := x.team(team)
	if err != nil {
		return nil, err
	}
	kickoffs, err := x.rdb.SMembers(ctx, index.person+plain(user)).Result()
	if err != nil {
		return nil, fmt.Errorf("list the kickoffs of %s: %w", user, err)
	}
	slices.Sort(kickoffs)
	return kickoffs, nil
}

// Greet notes that a channel is greeted, and reports whether it is the first
// time: of several that ask at once, one is first.
func (x *Index) Greet(ctx context.Context, team, channel string) (first bool, err error) {
	if channel == "" {
		return false, fmt.Errorf("channel: %w", errNameless)
	}
	keys, err := x.team(team)
	if err != nil {
		return false, err
	}
	// The team comes first, so that whoever purges all teams finds it.
	if err := x.rdb.SAdd(ctx, x.teams(), team).Err(); err != nil {
		return false, fmt.Errorf("note that channel %s is greeted: %w", channel, err)
	}
	added, err := x.rdb.SAdd(ctx, keys.greeted, channel).Result()
	if err != nil {
		return false, fmt.Errorf("note that channel %s is greeted: %w", channel, err)
	}
	return added == 1, nil
}

// Ungreet takes Greet back, for a greeting that did not get out.
func (x *Index) Ungreet(ctx context.Context, team, channel string) error {
	keys, err := x.team(team)
	if err != nil {
		return err
	}
	if err := x.rdb.SRem(ctx, keys.greeted, channel).Err(); err != nil {
		return fmt.Errorf("note that channel %s is not greeted: %w", channel, err)
	}
	return nil
}
