package journal

import (
	"context"
	"time"

	"github.com/redis/go-redis/v9"
)

// Profiles keep what the platform told of people, by team, until the next day:
// so long a name and a time zone are taken to be current.
type Profiles struct{ store }

// fieldDay stands among the users, whose ids never look like it.
const fieldDay = "day"

// dayOf tells the days apart on which profiles are kept.
func dayOf(now time.Time) string { return now.UTC().Format(time.DateOnly) }

// saveProfiles begins anew on a new day, so that nobody is kept for longer.
//
// KEYS: profiles; ARGV: day, seconds to live, then user, profile, …
var saveProfiles = redis.NewScript(`
if redis.call('HGET', KEYS[1], 'day') ~= ARGV[1] then
	redis.call('DEL', KEYS[1])
	redis.call('HSET', KEYS[1], 'day', ARGV[1])
end
for i = 3, #ARGV, 2 do
	redis.call('HSET', KEYS[1], ARGV[i], ARGV[i + 1])
end
redis.call('EXPIRE', KEYS[1], ARGV[2])
return 0
`)

// Save keeps profiles, by user, as they were found now.
func (p *Profiles) Save(ctx context.Context, team string, now time.Time, profiles map[string][]byte) error {
	if len(profiles) == 0 {
		return nil
	}
	_, err := onTeam(p.store, team, "keep profiles", func(t string) (any, error) {
		args := []any{dayOf(now), int((24 * time.Hour).Seconds())}
		for user, profile := range profiles {
			args = append(args, user, profile)
		}
		return saveProfiles.Run(ctx, p.rdb, []string{t + keyProfiles}, args...).Result()
	})
	return err
}

// Get finds what is kept of these users; the others are left out.
func (p *Profiles) Get(ctx context.Context, team string, now time.Time, users []string) (map[string][]byte, error) {
	return onTeam(p.store, team, "read profiles", func(t string) (map[string][]byte, error) {
		kept, err := p.rdb.HMGet(ctx, t+keyProfiles, append([]string{fieldDay}, users...)...).Result()
		if err != nil || kept[0] != dayOf(now) {
			return nil, err
		}
		found := map[string][]byte{}
		for i, user := range users {
			if profile, ok := kept[i+1].(string); ok {
				found[user] = []byte(profile)
			}
		}
		return found, nil
	})
}

// Forget removes what is kept of somebody.
func (p *Profiles) Forget(ctx context.Context, team, user string) error {
	_, err := onTeam(p.store, team, "forget the profile of "+user, func(t string) (any, error) {
		return nil, p.rdb.HDel(ctx, t+keyProfiles, user).Err()
	})
	return err
}
