package journal

import (
	"context"
	"errors"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// Shown returns the version that a slot (the place of one message) was last
// rendered from, or 0.
func (j *Journal) Shown(ctx context.Context, key Key, slot string) (int64, error) {
	keys, err := j.keys(key)
	if err != nil {
		return 0, err
	}
	return j.mark(ctx, key, keys.shown, slot)
}

// MarkShown notes that a slot shows a version. A lower one than is noted
// already changes nothing.
func (j *Journal) MarkShown(ctx context.Context, key Key, slot string, version int64) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	return j.raise(ctx, key, keys.shown, slot, version)
}

// queued is the field of the sweeper's cursor.
const queued = "queued"

// Queued returns the version up to which all effects were queued, or 0.
func (j *Journal) Queued(ctx context.Context, key Key) (int64, error) {
	keys, err := j.keys(key)
	if err != nil {
		return 0, err
	}
	return j.mark(ctx, key, keys.cursors, queued)
}

// MarkQueued notes that the effects up to a version were queued. A lower one
// than is noted already changes nothing.
func (j *Journal) MarkQueued(ctx context.Context, key Key, version int64) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	return j.raise(ctx, key, keys.cursors, queued, version)
}

// Requeue lets the sweeper find the effects of every entry again, for a
// kickoff whose jobs were given up.
func (j *Journal) Requeue(ctx context.Context, key Key) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	if err := j.rdb.HDel(ctx, keys.cursors, queued).Err(); err != nil {
		return fmt.Errorf("set back what was queued of kickoff %s: %w", key.Kickoff, err)
	}
	return nil
}

// Done says whether an effect was done.
func (j *Journal) Done(ctx context.Context, key Key, effect string) (bool, error) {
	keys, err := j.keys(key)
	if err != nil {
		return false, err
	}
	done, err := j.rdb.SIsMember(ctx, keys.done, effect).Result()
	if err != nil {
		return false, fmt.Errorf("ask whether %s of kickoff %s was done: %w", effect, key.Kickoff, err)
	}
	return done, nil
}

// MarkDone notes that an effect was done, for good.
func (j *Journal) MarkDone(ctx context.Context, key Key, effect string) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	if err := j.rdb.SAdd(ctx, keys.done, effect).Err(); err != nil {
		return fmt.Errorf("note that %s of kickoff %s was done: %w", effect, key.Kickoff, err)
	}
	return nil
}

// Begin notes that something was begun, for good, and reports whether it had
// not been before: of many who begin the same at once, one is the first. What
// is noted stands among the effects that were done.
func (j *Journal) Begin(ctx context.Context, key Key, what string) (first bool, err error) {
	keys, err := j.keys(key)
	if err != nil {
		return false, err
	}
	added, err := j.rdb.SAdd(ctx, keys.done, what).Result()
	if err != nil {
		return false, fmt.Errorf("note that %s of kickoff %s was begun: %w", what, key.Kickoff, err)
	}
	return added == 1, nil
}

// mark reads a version from a field of a hash; 0 when it is not there.
func (j *Journal) mark(ctx context.Context, key Key, hash, field string) (int64, error) {
	version, err := j.rdb.HGet(ctx, hash, field).Int64()
	if err != nil && !errors.Is(err, redis.Nil) {
		return 0, fmt.Errorf("read the mark %s of kickoff %s: %w", field, key.Kickoff, err)
	}
	return version, nil
}

// raiseScript sets a field of a hash to a version unless it is there already.
//
// KEYS: the hash; ARGV: field, version
var raiseScript = redis.NewScript(`
local kept = tonumber(redis.call('HGET', KEYS[1], ARGV[1]) or '0')
if kept < tonumber(ARGV[2]) then
	redis.call('HSET', KEYS[1], ARGV[1], ARGV[2])
end
return 0
`)

func (j *Journal) raise(ctx context.Context, key Key, hash, field string, version int64) error {
	if err := raiseScript.Run(ctx, j.rdb, []string{hash}, field, version).Err(); err != nil {
		return fmt.Errorf("set the mark %s of kickoff %s: %w", field, key.Kickoff, err)
	}
	return nil
}
