package journal

import (
	"context"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// Snapshot returns the last snapshot of a kickoff and the version it stands
// for, or 0 and nil when there is none. A snapshot may be of another release:
// a reader that cannot use it folds from the start.
func (j *Journal) Snapshot(ctx context.Context, key Key) (version int64, data []byte, err error) {
	kept, err := onKickoff(j.store, key, "read the snapshot", func(k string) (kept struct {
		Version int64  `redis:"version"`
		Data    []byte `redis:"data"`
	}, err error) {
		err = j.rdb.HMGet(ctx, k+keySnapshot, "version", "data").Scan(&kept)
		return kept, err
	})
	return kept.Version, kept.Data, err
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
	if version < 1 {
		panic(fmt.Sprintf("journal: snapshot of version %d", version))
	}
	_, err := onKickoff(j.store, key, fmt.Sprintf("save the snapshot at version %d", version), func(k string) (any, error) {
		return snapshotScript.Run(ctx, j.rdb, []string{k + keySnapshot}, version, data).Result()
	})
	return err
}
