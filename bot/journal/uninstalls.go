package journal

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// Uninstalls lists the teams that have uninstalled the app, until they have it
// again or what they hold is purged.
type Uninstalls struct{ store }

// An Uninstall says since when a team has been without the app.
type Uninstall struct {
	Since   time.Time // in ms
	Purging bool      // its data is being removed, or that was interrupted
}

// The mark of an uninstall is "<unix ms>" or "<unix ms> purging".
const purging = " purging"

func (a Uninstall) mark() string {
	text := strconv.FormatInt(a.Since.UnixMilli(), 10)
	if a.Purging {
		text += purging
	}
	return text
}

func parseUninstall(mark string) (Uninstall, error) {
	text, isPurging := strings.CutSuffix(mark, purging)
	ms, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return Uninstall{}, fmt.Errorf("the mark %q of an uninstall was not written by a journal", mark)
	}
	return Uninstall{time.UnixMilli(ms).UTC(), isPurging}, nil
}

// Add notes that a team has uninstalled the app. An earlier note stays as it
// is; first reports that there was none.
func (u *Uninstalls) Add(ctx context.Context, team string, since time.Time) (first bool, err error) {
	if team == "" {
		return false, fmt.Errorf("team: %w", errNameless)
	}
	first, err = u.rdb.HSetNX(ctx, u.uninstalled(), team, Uninstall{Since: since}.mark()).Result()
	if err != nil {
		return false, fmt.Errorf("note that team %s has uninstalled the app: %w", team, err)
	}
	return first, nil
}

// Get returns the uninstall of a team, and false where it has the app.
func (u *Uninstalls) Get(ctx context.Context, team string) (Uninstall, bool, error) {
	mark, err := u.rdb.HGet(ctx, u.uninstalled(), team).Result()
	if errors.Is(err, redis.Nil) {
		return Uninstall{}, false, nil
	}
	if err != nil {
		return Uninstall{}, false, fmt.Errorf("ask whether team %s has uninstalled the app: %w", team, err)
	}
	a, err := parseUninstall(mark)
	return a, err == nil, err
}

// All returns every uninstall by team.
func (u *Uninstalls) All(ctx context.Context) (map[string]Uninstall, error) {
	marks, err := u.rdb.HGetAll(ctx, u.uninstalled()).Result()
	if err != nil {
		return nil, fmt.Errorf("list the teams that have uninstalled the app: %w", err)
	}
	all := make(map[string]Uninstall, len(marks))
	for team, mark := range marks {
		if all[team], err = parseUninstall(mark); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// Remove notes that a team has the app again. It changes nothing, and returns
// false, when the uninstall is another one by now or its purge has begun.
func (u *Uninstalls) Remove(ctx context.Context, team string, a Uninstall) (bool, error) {
	return u.swap(ctx, team, Uninstall{Since: a.Since}.mark(), "")
}

// BeginPurge notes that the data of a team is about to be removed. It changes
// nothing, and returns false, when the uninstall is another one by now, or
// over. From then on Remove returns false until EndPurge.
func (u *Uninstalls) BeginPurge(ctx context.Context, team string, a Uninstall) (bool, error) {
	return u.swap(ctx, team, a.mark(), Uninstall{a.Since, true}.mark())
}

// EndPurge removes the uninstall after its purge.
func (u *Uninstalls) EndPurge(ctx context.Context, team string, a Uninstall) error {
	_, err := u.swap(ctx, team, Uninstall{a.Since, true}.mark(), "")
	return err
}

func (u *Uninstalls) swap(ctx context.Context, team, read, write string) (bool, error) {
	done, err := Swap(ctx, u.rdb, u.uninstalled(), team, read, write)
	if err != nil {
		return false, fmt.Errorf("change the uninstall of team %s: %w", team, err)
	}
	return done, nil
}

// swapScript replaces a field of a hash, or removes it where ARGV[3] is empty,
// unless it has changed since it was read.
//
// KEYS: the hash; ARGV: field, what was read, what to write
var swapScript = redis.NewScript(`
if redis.call('HGET', KEYS[1], ARGV[1]) ~= ARGV[2] then
	return 0
end
if ARGV[3] == '' then
	redis.call('HDEL', KEYS[1], ARGV[1])
else
	redis.call('HSET', KEYS[1], ARGV[1], ARGV[3])
end
return 1
`)

// Swap replaces the value read of a field of a hash by write, or removes the
// field where write is empty. It reports false, and changes nothing, when the
// field has another value by now.
func Swap(ctx context.Context, rdb redis.UniversalClient, hash, field, read, write string) (bool, error) {
	n, err := swapScript.Run(ctx, rdb, []string{hash}, field, read, write).Int()
	return n == 1, err
}
