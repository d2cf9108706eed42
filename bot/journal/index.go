package journal

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/redis/go-redis/v9"
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
		held, err := x.Channels(ctx, team)
		if err != nil {
			return nil, err
		}
		open = append(open, keysOf(team, slices.Collect(maps.Values(held)))...)
	}
	return open, nil
}

// Channels returns which kickoff holds which channel of a team.
func (x *Index) Channels(ctx context.Context, team string) (map[string]string, error) {
	held, err := onTeam(x.store, team, "list the channels", func(t string) (map[string]string, error) {
		return x.rdb.HGetAll(ctx, t+keyChannels).Result()
	})
	for channel, value := range held {
		held[channel] = holderOf(value)
	}
	return held, err
}

// All lists every kickoff of a team that ever claimed a channel or was
// joined, ended ones too, until it is purged.
func (x *Index) All(ctx context.Context, team string) ([]Key, error) {
	kickoffs, err := onTeam(x.store, team, "list the kickoffs", func(t string) ([]string, error) {
		return x.rdb.SMembers(ctx, t+keyKickoffs).Result()
	})
	return keysOf(team, kickoffs), err
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

// Join notes that people take part in a kickoff. Doing so twice is fine. However
// many they are, it takes a handful of round trips.
func (x *Index) Join(ctx context.Context, key Key, users ...string) error {
	if len(users) == 0 {
		return nil
	}
	_, err := onKickoff(x.store, key, "note who takes part", func(k string) (any, error) {
		t, err := x.team(key.Team)
		if err == nil && slices.Contains(users, "") {
			err = errNameless
		}
		if err != nil {
			return nil, err
		}
		// The way back comes first: what the index names, Purge must find.
		for _, add := range []struct {
			set     string
			members any
		}{{x.teams(), key.Team}, {t + keyKickoffs, key.Kickoff}, {k + keyPeople, users}} {
			if err := x.rdb.SAdd(ctx, add.set, add.members).Err(); err != nil {
				return nil, err
			}
		}
		_, err = x.rdb.Pipelined(ctx, func(all redis.Pipeliner) error {
			for _, user := range users {
				all.SAdd(ctx, t+keyPerson+plain(user), key.Kickoff)
			}
			return nil
		})
		return nil, err
	})
	return err
}

// Leave takes Join back: a kickoff is no longer listed for people. Doing so twice
// is fine.
func (x *Index) Leave(ctx context.Context, key Key, users ...string) error {
	if len(users) == 0 {
		return nil
	}
	_, err := onKickoff(x.store, key, "note who takes part no more", func(k string) (any, error) {
		t, err := x.team(key.Team)
		if err != nil {
			return nil, err
		}
		if _, err := x.rdb.Pipelined(ctx, func(all redis.Pipeliner) error {
			for _, user := range users {
				all.SRem(ctx, t+keyPerson+plain(user), key.Kickoff)
			}
			return nil
		}); err != nil {
			return nil, err
		}
		return nil, x.rdb.SRem(ctx, k+keyPeople, users).Err() // last: what the index names, Purge must find
	})
	return err
}

// Of lists the kickoffs that a person takes part in, in a stable order.
func (x *Index) Of(ctx context.Context, team, user string) ([]string, error) {
	kickoffs, err := onTeam(x.store, team, "list the kickoffs of "+user, func(t string) ([]string, error) {
		return x.rdb.SMembers(ctx, t+keyPerson+plain(user)).Result()
	})
	slices.Sort(kickoffs)
	return kickoffs, err
}

// ForgetPerson removes the list of a person's kickoffs, and them from the lists
// of who takes part.
func (x *Index) ForgetPerson(ctx context.Context, team, user string) error {
	kickoffs, err := x.Of(ctx, team, user)
	if err != nil {
		return err
	}
	for _, kickoff := range kickoffs {
		if err := x.Leave(ctx, Key{Team: team, Kickoff: kickoff}, user); err != nil {
			return err
		}
	}
	_, err = onTeam(x.store, team, "forget "+user, func(t string) (any, error) {
		return nil, x.rdb.Unlink(ctx, t+keyPerson+plain(user)).Err()
	})
	return err
}

// End notes when a kickoff has ended. The marks that tell deliveries apart go
// with it: whatever comes now is refused, however often it comes.
func (x *Index) End(ctx context.Context, key Key, at time.Time) error {
	_, err := onKickoff(x.store, key, "note its end", func(k string) (any, error) {
		t, err := x.team(key.Team)
		if err != nil {
			return nil, err
		}
		if err := x.rdb.ZAdd(ctx, t+keyEnded, redis.Z{Score: float64(at.UnixMilli()), Member: key.Kickoff}).Err(); err != nil {
			return nil, err
		}
		return nil, x.rdb.Unlink(ctx, k+keySeen, k+keySeenUntil).Err()
	})
	return err
}

// Ended tells when the kickoffs of a team have ended, of those whose end was
// noted.
func (x *Index) Ended(ctx context.Context, team string) (map[string]time.Time, error) {
	ended := map[string]time.Time{}
	_, err := onTeam(x.store, team, "list the kickoffs that have ended", func(t string) (any, error) {
		all, err := x.rdb.ZRangeWithScores(ctx, t+keyEnded, 0, -1).Result()
		for _, z := range all {
			ended[z.Member.(string)] = time.UnixMilli(int64(z.Score)).UTC()
		}
		return nil, err
	})
	return ended, err
}

// Greet notes that a channel is greeted, and reports whether it is the first
// time: of several that ask at once, one is first.
func (x *Index) Greet(ctx context.Context, team, channel string) (first bool, err error) {
	added, err := onTeam(x.store, team, "note that channel "+channel+" is greeted", func(t string) (int64, error) {
		if channel == "" {
			return 0, errNameless
		}
		// The team comes first, so that whoever purges all teams finds it.
		if err := x.rdb.SAdd(ctx, x.teams(), team).Err(); err != nil {
			return 0, err
		}
		return x.rdb.SAdd(ctx, t+keyGreeted, channel).Result()
	})
	return added == 1, err
}

// Ungreet takes Greet back, for a greeting that did not get out.
func (x *Index) Ungreet(ctx context.Context, team, channel string) error {
	_, err := onTeam(x.store, team, "note that channel "+channel+" is not greeted", func(t string) (int64, error) {
		return x.rdb.SRem(ctx, t+keyGreeted, channel).Result()
	})
	return err
}
