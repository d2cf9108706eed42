package journal

import (
	"context"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// This file changes what was written, which only somebody may ask for who wants
// to be forgotten.

// rewriteScript replaces all entries of a record, unless one was added since
// they were read. The number of the last one stays, and so does what was added.
//
// KEYS: entries, seen, cursors; ARGV: version and digest of the last entry as
// it was read, digest of it as it will be, and of each entry: version, data,
// delivery
var rewriteScript = redis.NewScript(`
local last = redis.call('XREVRANGE', KEYS[1], '+', '-', 'COUNT', 1)[1]
if not last or last[1] ~= ARGV[1] .. '-0' or redis.call('XLEN', KEYS[1]) ~= (#ARGV - 3) / 3 then
	return 0
end
for i = 1, #last[2], 2 do
	if last[2][i] == 'data' and redis.sha1hex(last[2][i + 1]) ~= ARGV[2] then
		return 0
	end
end
redis.call('DEL', KEYS[1])
for i = 4, #ARGV, 3 do
	if ARGV[i + 2] == '' then
		redis.call('XADD', KEYS[1], ARGV[i] .. '-0', 'data', ARGV[i + 1])
	else
		redis.call('XADD', KEYS[1], ARGV[i] .. '-0', 'data', ARGV[i + 1], 'delivery', ARGV[i + 2])
	end
end
if redis.call('HEXISTS', KEYS[2], 'last') == 1 then
	redis.call('HSET', KEYS[2], 'last', ARGV[1] .. ' ' .. ARGV[3])
end
redis.call('HSET', KEYS[3], 'rewritten', 1)
return 1
`)

// Rewrite replaces the data of all entries that were read, in one step. It
// refuses with ErrConflict where others wrote since: read again. The snapshot
// of the kickoff goes, since it was made of what was there.
func (j *Journal) Rewrite(ctx context.Context, key Key, read, entries []Entry) error {
	if len(read) == 0 || len(read) != len(entries) {
		panic(fmt.Sprintf("journal: rewrite %d entries as %d", len(read), len(entries)))
	}
	last := read[len(read)-1].Position()
	args := []any{last.Version, last.Digest, Digest(entries[len(entries)-1].Data)}
	for _, e := range entries {
		args = append(args, e.Version, e.Data, e.Delivery)
	}
	done, err := onKickoff(j.store, key, "rewrite the entries", func(k string) (int64, error) {
		if err := j.unpack(ctx, k); err != nil {
			return 0, err
		}
		return rewriteScript.Run(ctx, j.rdb, []string{k + keyEntries, k + keySeen, k + keyCursors}, args...).Int64()
	})
	if err != nil {
		return err
	}
	if done == 0 {
		return fmt.Errorf("rewrite the entries, of kickoff %s: %w", key.Kickoff, ErrConflict)
	}
	return j.DropSnapshot(ctx, key)
}

// Rewritten reports whether entries of a kickoff were ever rewritten.
func (m *Marks) Rewritten(ctx context.Context, key Key) (bool, error) {
	n, err := m.version(ctx, key, keyCursors, "rewritten")
	return n == 1, err
}

// Rename gives marks of a kickoff other names, as those that name a person.
func (m *Marks) Rename(ctx context.Context, key Key, rename func(string) string) error {
	return m.named(ctx, key, func(p redis.Pipeliner, k string, mark string, value *string) {
		switch to := rename(mark); {
		case to == mark:
		case value == nil:
			p.SRem(ctx, k, mark)
			p.SAdd(ctx, k, to)
		default:
			p.HDel(ctx, k, mark)
			p.HSet(ctx, k, to, *value)
		}
	})
}

// Named lists the marks of a kickoff that pick finds.
func (m *Marks) Named(ctx context.Context, key Key, pick func(string) bool) (found []string, err error) {
	err = m.named(ctx, key, func(_ redis.Pipeliner, _ string, mark string, _ *string) {
		if pick(mark) {
			found = append(found, mark)
		}
	})
	return found, err
}

// named goes through all marks of a kickoff; value is nil where a set holds it.
func (m *Marks) named(ctx context.Context, key Key, each func(p redis.Pipeliner, k, mark string, value *string)) error {
	_, err := onKickoff(m.store, key, "go through the marks", func(k string) (any, error) {
		done, err := m.rdb.SMembers(ctx, k+keyDone).Result()
		if err != nil {
			return nil, err
		}
		pipe := m.rdb.Pipeline()
		for _, mark := range done {
			each(pipe, k+keyDone, mark, nil)
		}
		for _, hash := range []string{keyShown, keyBegun, keyUploads} {
			fields, err := m.rdb.HGetAll(ctx, k+hash).Result()
			if err != nil {
				return nil, err
			}
			for mark, value := range fields {
				each(pipe, k+hash, mark, &value)
			}
		}
		_, err = pipe.Exec(ctx)
		return nil, err
	})
	return err
}
