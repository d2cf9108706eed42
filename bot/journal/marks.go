package journal

import (
	"context"
	"time"

	"github.com/redis/go-redis/v9"
)

// Marks note what was done about a kickoff: which messages are shown, which
// effects were queued or done, and which files were uploaded. Losing one
// repeats work and loses no decision.
type Marks struct{ store }

// Shown returns the version that a slot (the place of one message) was last
// rendered from, or 0.
func (m *Marks) Shown(ctx context.Context, key Key, slot string) (int64, error) {
	return m.version(ctx, key, keyShown, slot)
}

// SetShown notes that a slot shows a version. A lower one than is noted
// already changes nothing.
func (m *Marks) SetShown(ctx context.Context, key Key, slot string, version int64) error {
	return m.raise(ctx, key, keyShown, slot, version)
}

// ResetShown lets every slot be rendered again.
func (m *Marks) ResetShown(ctx context.Context, key Key) error {
	_, err := onKickoff(m.store, key, "set back what was shown", func(k string) (int64, error) {
		return m.rdb.Unlink(ctx, k+keyShown).Result()
	})
	return err
}

// queued is the field of the sweeper's cursor.
const queued = "queued"

// SetQueued notes that the effects up to a version were queued. A lower one
// than is noted already changes nothing.
func (m *Marks) SetQueued(ctx context.Context, key Key, version int64) error {
	return m.raise(ctx, key, keyCursors, queued, version)
}

// ResetQueued lets the sweeper find the effects of every entry again, for a
// kickoff whose jobs were given up.
func (m *Marks) ResetQueued(ctx context.Context, key Key) error {
	_, err := onKickoff(m.store, key, "set back what was queued", func(k string) (int64, error) {
		return m.rdb.HDel(ctx, k+keyCursors, queued).Result()
	})
	return err
}

// Done says whether an effect was done.
func (m *Marks) Done(ctx context.Context, key Key, effect string) (bool, error) {
	return onKickoff(m.store, key, "ask whether "+effect+" was done", func(k string) (bool, error) {
		return m.rdb.SIsMember(ctx, k+keyDone, effect).Result()
	})
}

// SetDone notes that an effect was done, for good.
func (m *Marks) SetDone(ctx context.Context, key Key, effect string) error {
	_, err := onKickoff(m.store, key, "note that "+effect+" was done", func(k string) (int64, error) {
		return m.rdb.SAdd(ctx, k+keyDone, effect).Result()
	})
	return err
}

// beginScript notes a time unless there is one, and gives what was there; -1
// where an older release noted that it was begun, and not when.
//
// KEYS: begun, done; ARGV: what, time
var beginScript = redis.NewScript(`
if redis.call('SISMEMBER', KEYS[2], ARGV[1]) == 1 then
	return -1
end
if redis.call('HSETNX', KEYS[1], ARGV[1], ARGV[2]) == 0 then
	return tonumber(redis.call('HGET', KEYS[1], ARGV[1]))
end
return 0
`)

// Begin notes that something is begun now, for good, and reports whether it is
// for the first time: of many who begin the same at once, one is the first.
// Where it is not, since says when it was begun; the zero time is long ago.
func (m *Marks) Begin(ctx context.Context, key Key, what string, now time.Time) (first bool, since time.Time, err error) {
	begun, err := onKickoff(m.store, key, "note that "+what+" is begun", func(k string) (int64, error) {
		return beginScript.Run(ctx, m.rdb, []string{k + keyBegun, k + keyDone}, what, now.UnixMilli()).Int64()
	})
	if begun > 0 {
		since = time.UnixMilli(begun)
	}
	return err == nil && begun == 0, since, err
}

// Uploaded returns the id under which the platform holds a file that was
// handed to it but stands nowhere yet; empty when there is none.
func (m *Marks) Uploaded(ctx context.Context, key Key, file string) (id string, err error) {
	return onKickoff(m.store, key, "read where "+file+" was uploaded", func(k string) (string, error) {
		return m.rdb.HGet(ctx, k+keyUploads, file).Result()
	})
}

// SetUploaded notes under which id the platform holds a file. Several files
// are shared at once, so one that could not be uploaded must not cost the
// others a second time.
func (m *Marks) SetUploaded(ctx context.Context, key Key, file, id string) error {
	_, err := onKickoff(m.store, key, "note where "+file+" was uploaded", func(k string) (int64, error) {
		return m.rdb.HSet(ctx, k+keyUploads, file, id).Result()
	})
	return err
}

// ForgetUploads forgets files: they stand where they should, or the platform
// does not know them any more.
func (m *Marks) ForgetUploads(ctx context.Context, key Key, files ...string) error {
	_, err := onKickoff(m.store, key, "forget uploads", func(k string) (int64, error) {
		return m.rdb.HDel(ctx, k+keyUploads, files...).Result()
	})
	return err
}

// version reads a version from a field of a hash; 0 when it is not there.
func (m *Marks) version(ctx context.Context, key Key, hash, field string) (int64, error) {
	return onKickoff(m.store, key, "read the mark "+field, func(k string) (int64, error) {
		return m.rdb.HGet(ctx, k+hash, field).Int64()
	})
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
	_, err := onKickoff(m.store, key, "set the mark "+field, func(k string) (any, error) {
		return raiseScript.Run(ctx, m.rdb, []string{k + hash}, field, version).Result()
	})
	return err
}
