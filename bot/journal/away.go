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

// An Absence says that a team has taken the app away.
type Absence struct {
	Since   time.Time // in ms
	Purging bool      // what it holds is being removed, or that was cut off
}

// The mark of an absence is "<unix ms>" or "<unix ms> purging".
const purging = " purging"

func (a Absence) mark() string {
	text := strconv.FormatInt(a.Since.UnixMilli(), 10)
	if a.Purging {
		text += purging
	}
	return text
}

func absenceOf(mark string) (Absence, error) {
	text, isPurging := strings.CutSuffix(mark, purging)
	ms, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return Absence{}, fmt.Errorf("the mark %q of an absence was not written by a journal", mark)
	}
	return Absence{time.UnixMilli(ms).UTC(), isPurging}, nil
}

// GoAway notes that a team has taken the app away. One that is away already
// stays away since then; first reports that it was not.
func (j *Journal) GoAway(ctx context.Context, team string, since time.Time) (first bool, err error) {
	if team == "" {
		return false, fmt.Errorf("team: %w", errNameless)
	}
	first, err = j.rdb.HSetNX(ctx, j.away(), team, Absence{Since: since}.mark()).Result()
	if err != nil {
		return false, fmt.Errorf("note that team %s is away: %w", team, err)
	}
	return first, nil
}

// Away tells of a team that has taken the app away; false where it has not.
func (j *Journal) Away(ctx context.Context, team string) (Absence, bool, error) {
	mark, err := j.rdb.HGet(ctx, j.away(), team).Result()
	if errors.Is(err, redis.Nil) {
		return Absence{}, false, nil
	}
	if err != nil {
		return Absence{}, false, fmt.Errorf("ask whether team %s is away: %w", team, err)
	}
	a, err := absenceOf(mark)
	return a, err == nil, err
}

// AllAway lists the teams that have taken the app away.
func (j *Journal) AllAway(ctx context.Context) (map[string]Absence, error) {
	marks, err := j.rdb.HGetAll(ctx, j.away()).Result()
	if err != nil {
		return nil, fmt.Errorf("list the teams that are away: %w", err)
	}
	all := make(map[string]Absence, len(marks))
	for team, mark := range marks {
		if all[team], err = absenceOf(mark); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// swapMark replaces the mark of a team, or takes it away, unless it has
// changed since it was read.
//
// KEYS: away; ARGV: team, what was read, what to write (empty: nothing)
var swapMark = redis.NewScript(`
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

// ComeBack notes that a team has the app again, unless the absence is another
// one by now, or its purge has begun.
func (j *Journal) ComeBack(ctx context.Context, team string, a Absence) (bool, error) {
	return j.changeAbsence(ctx, team, Absence{Since: a.Since}.mark(), "")
}

// BeginPurge notes that what a team holds is about to be removed, unless the
// absence is another one by now, or over. From then on the team cannot come
// back before EndPurge.
func (j *Journal) BeginPurge(ctx context.Context, team string, a Absence) (bool, error) {
	return j.changeAbsence(ctx, team, a.mark(), Absence{a.Since, true}.mark())
}

// EndPurge notes that nothing of the absence is left.
func (j *Journal) EndPurge(ctx context.Context, team string, a Absence) error {
	_, err := j.changeAbsence(ctx, team, Absence{a.Since, true}.mark(), "")
	return err
}

func (j *Journal) changeAbsence(ctx context.Context, team, read, write string) (bool, error) {
	n, err := swapMark.Run(ctx, j.rdb, []string{j.away()}, team, read, write).Int()
	if err != nil {
		return false, fmt.Errorf("change the absence of team %s: %w", team, err)
	}
	return n == 1, nil
}
