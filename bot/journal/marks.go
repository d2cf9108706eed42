package journal

import (
	"context"
	"errors"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// Marks note what was done about a kickoff: which messages are shown, which
// effects were queued or done, and which files were uploaded. Losing one
// repeats work and loses no decision.
type Marks struct{ store }

// Shown returns the version that a slot (the place of one message) was last
// rendered from, or 0.
func (m *Marks) Shown(ctx context.Context, key Key, slot string) (int64, error) {
	keys, err := m.keys(key)
	if err != nil {
		return 0, err
	}
	return m.version(ctx, key, keys.shown, slot)
}

// SetShown notes that a slot shows a version. A lower one than is noted
// already changes nothing.
func (m *Marks) SetShown(ctx context.Context, key Key, slot string, version int64) error {
	keys, err := m.keys(key)
	if err != nil {
		return err
	}
	return m.raise(ctx, key, keys.shown, slot, version)
}

// queued is the field of the sweeper's cursor.
const queued = "queued"

// Queued returns the version up to which all effects were queued, or 0.
func (m *Marks) Queued(ctx context.Context, key Key) (int64, error) {
	keys, err := m.keys(key)
	if err != nil {
		return 0, err
	}
	return m.version(ctx, key, keys.cursors, queued)
}

// SetQueued notes that the effects up to a version were queued. A lower one
// than is noted already changes nothing.
func (m *Marks) SetQueued(ctx context.Context, key Key, version int64) error {
	keys, err := m.keys(key)
	if err != nil {
		return err
	}
	return m.raise(ctx, key, keys.cursors, queued, version)
}

// ResetQueued lets the sweeper find the effects of every entry again, for a
// kickoff whose jobs were given up.
func (m *Marks) ResetQueued(ctx context.Context, key Key) error {
	return m.write(key, "set back what was queued", func(keys kickoffKeys) redis.Cmder { return m.rdb.HDel(ctx, keys.cursors, queued) })
}

// Done says whether an effect was done.
func (m *Marks) Done(ctx context.Context, key Key, effect string) (bool, error) {
	keys, err := m.keys(key)
	if err != nil {
		return false, err
	}
	done, err := m.rdb.SIsMember(ctx, keys.done, effect).Result()
	if err != nil {
		return false, fmt.Errorf("ask whether %s of kickoff %s was done: %w", effect, key.Kickoff, err)
	}
	return done, nil
}

// SetDone notes that an effect was done, for good.
func (m *Marks) SetDone(ctx context.Context, key Key, effect string) error {
	return m.write(key, "note that "+effect+" was done", func(keys kickoffKeys) redis.Cmder { return m.rdb.SAdd(ctx, keys.done, effect) })
}

// Begin notes that something was begun, for good, and reports whether it had
// not been before: of many who begin the same at once, one is the first. What
// is noted stands among the effects that were done.
func (m *Marks) Begin(ctx context.Context, key Key, what string) (first bool, err error) {
	keys, err := m.keys(key)
	if err != nil {
		return false, err
	}
	added, err := m.rdb.SAdd(ctx, keys.done, what).Result()
	if err != nil {
		return false, fmt.Errorf("note that %s of kickoff %s was begun: %w", what, key.Kickoff, err)
	}
	return added == 1, nil
}

// Uploaded returns the id under which the platform holds a file that was
// handed to it but stands nowhere yet; empty when there is none.
func (m *Marks) Uploaded(ctx context.Context, key Key, file string) (id string, err error) {
	keys, err := m.keys(key)
	if err != nil {
		return "", err
	}
	id, err = m.rdb.HGet(ctx, keys.uploads, file).Result()
	if err != nil && !errors.Is(err, redis.Nil) {
		return "", fmt.Errorf("read where %s of kickoff %s was uploaded: %w", file, key.Kickoff, err)
	}
	return id, nil
}

// SetUploaded notes under which id the platform holds a file. Several files
// are shared at once, so one that could not be uploaded must not cost the
// others a second time.
func (m *Marks) SetUploaded(ctx context.Context, key Key, file, id string) error {
	return m.write(key, "note where "+file+" was uploaded", func(keys kickoffKeys) redis.Cmder { return m.rdb.HSet(ctx, keys.uploads, file, id) })
}

// ForgetUploads forgets files: they stand where they should, or the platform
// does not know them any more.
func (m *Marks) ForgetUploads(ctx context.Context, key Key, files ...string) error {
	return m.write(key, "forget uploads", func(keys kickoffKeys) redis.Cmder { return m.rdb.HDel(ctx, keys.uploads, files...) })
}

// write changes the marks of a kickoff by one command; what says to which end.
func (m *Marks) write(key Key, what string, command func(kickoffKeys) redis.Cmder) error {
	keys, err := m.keys(key)
	if err == nil {
		err = command(keys).Err()
	}
	if err != nil {
		return fmt.Errorf("%s, of kickoff %s: %w", what, key.Kickoff, err)
	}
	return nil
}

// version reads a version from a field of a hash; 0 when it is not there.
func (m *Marks) version(ctx context.Context, key Key, hash, field string) (int64, error) {
	version, err := m.rdb.HGet(ctx, hash, field).Int64()
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

func (m *Marks) raise(ctx context.Context, key Key, hash, field string, version int64) error {
	if err := raiseScript.Run(ctx, m.rdb, []string{hash}, field, version).Err(); err != nil {
		return fmt.Errorf("set the mark %s of kickoff %s: %w", field, key.Kickoff, err)
	}
	return nil
}
