package journal

import (
	"context"
	"fmt"
	"strconv"

	"github.com/redis/go-redis/v9"
)

// Snapshot returns the last snapshot of a kickoff and the version it stands
// for, or 0 and nil when there is none. A snapshot may be of another release:
// a reader that cannot use it folds from the start.
func (j *Journal) Snapshot(ctx context.Context, key Key) (version int64, data []byte, err error) {
	keys, err := j.keys(key)
	if err != nil {
		return 0, nil, err
	}
	values, err := j.rdb.HMGet(ctx, keys.snapshot, "version", "data").Result()
	if err != nil {
		return 0, nil, fmt.Errorf("read the snapshot of kickoff %s: %w", key.Kickoff, err)
	}
	number, _ := values[0].(string)
	text, ok := values[1].(string)
	if !ok {
		return 0, nil, nil
	}
	if version, err = strconv.ParseInt(number, 10, 64); err != nil {
		return 0, nil, fmt.Errorf("read the snapshot of kickoff %s: its version is not a number", key.Kickoff)
	}
	return version, []byte(text), nil
}

// snapshotScript keeps the later of two snapshots. One of the same version
// replaces the old one: it may be of a newer release.
//
// KEYS: snapshot; ARGV: version, data
var snapshotScript = redis.NewScript(`
local kept = tonumber(redis.call('HGET', KEYS[1], 'version') or '0')
if kept <= tonumber(ARGV[1]) then
	redis.call('HSET', KEYS[1], 'version', ARGV[1], 'data', ARGV[2])
end
return 0
`)

// SaveSnapshot keeps a snapshot unless a later one is there already, which is
// no error.
func (j *Journal) SaveSnapshot(ctx context.Context, key Key, version int64, data []byte) error {
	keys, err := j.keys(key)
	if err != nil {
		return err
	}
	if version < 1 {
		panic(fmt.Sprintf("journal: snapshot of version %d", version))
	}
	if err := snapshotScript.Run(ctx, j.rdb, []string{keys.snapshot}, version, data).Err(); err != nil {
		return fmt.Errorf("save the snapshot of kickoff %s at version %d: %w", key.Kickoff, version, err)
	}
	return nil
}
