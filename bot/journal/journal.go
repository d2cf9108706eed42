// Package journal keeps the ordered record of kickoffs in Redis, and the few
// marks that help to act on it once.
//
// A kickoff's record is one Redis Stream. Each entry holds one decision as
// bytes that this package never reads, under a version: 1, 2, 3 and so on,
// without gaps. [Journal.Append] is one atomic step: it adds an entry, or
// refuses a delivery that was written before ([ErrDuplicate]) or a decision
// made on an older version ([ErrConflict]). [Journal.Read] returns the entries
// in order. Whatever else is stored can be lost without losing a decision:
// snapshots, and the [Marks] of what was shown, done and queued.
//
// Beside the records stand an [Index] by team, of which kickoff is open in a
// channel and which kickoffs a person takes part in, and the [Uninstalls], the
// teams that have taken the app away.
//
// The package owns every key it writes; keys.go lists them with their shape
// and writer. All keys of one kickoff share a hash tag, and so one slot of a
// Redis Cluster; the index of a team shares another one. No key relies on
// expiry by Redis, and no time is taken from this process: where time counts,
// scripts ask the server. So a single server, Sentinel, Cluster and the
// embedded store of rehearsals behave alike.
//
// An append that returned is as durable as the server was told to make it:
// set appendfsync in Redis, and Options.Replicas, to what you are ready to
// lose.
//
// Left to others: what an entry means (flows), how it is encoded and when it
// is written (bot), timers and outgoing work (jobs). Start with [Open], [New]
// and [Journal.Append].
package journal

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"github.com/redis/go-redis/v9"
)

// Key names a kickoff: the team (workspace) it belongs to, and its id within
// that team. Both are needed; any bytes will do.
type Key struct{ Team, Kickoff string }

// An Entry is one decision, as it was written.
type Entry struct {
	Version  int64  // its place in the record: 1 for the first
	Delivery string // the delivery that asked for it; may be empty
	Data     []byte
}

// Options change how a Journal behaves. The zero value is good.
type Options struct {
	// Prefix begins every key, so that several programs can share a server.
	// Default: snd.
	Prefix string

	// SeenFor is how long a delivery is remembered. It must outlast the
	// platform's own retries. Default: 24 h.
	SeenFor time.Duration

	// Page is how many entries are asked for at once. Default: 200.
	Page int64

	// Replicas is how many must have an entry before Append returns without an
	// error. Default: none.
	Replicas int

	// Embedded says that the store is the embedded one, which walks a whole
	// stream to read its end: it is asked first whether there is anything new.
	Embedded bool
}

// A Journal reads and writes the records of kickoffs. It holds no state of
// its own: any number of processes may use one Redis. It is safe for use by
// many goroutines.
type Journal struct {
	store
	Marks      Marks
	Index      Index
	Uninstalls Uninstalls
	Profiles   Profiles
	Boxes      Boxes
}

// A store is what a Journal and its parts share: the client and the names of
// keys.
type store struct {
	rdb  redis.UniversalClient
	opts Options
}

// New makes a Journal on a client, which stays the caller's to close.
func New(rdb redis.UniversalClient, o Options) *Journal {
	o.Prefix = cmp.Or(o.Prefix, "snd")
	o.SeenFor = cmp.Or(o.SeenFor, 24*time.Hour)
	o.Page = cmp.Or(o.Page, 200)
	s := store{rdb: rdb, opts: o}
	return &Journal{store: s, Marks: Marks{s}, Index: Index{s}, Uninstalls: Uninstalls{s}, Profiles: Profiles{s}, Boxes: Boxes{s}}
}

// Snapshot returns the last snapshot of a kickoff, or the zero one. It may be
// of another release, or of entries that the server has lost: a reader that
// cannot use it folds from the start.
func (j *Journal) Snapshot(ctx context.Context, key Key) (Snapshot, error) {
	kept, err := j.Snapshots(ctx, []Key{key})
	if err != nil {
		return Snapshot{}, err
	}
	return kept[0], nil
}

// snapshotScript keeps the later of two snapshots. One of the same version
// replaces the old one: it may be of a newer release.
//
// KEYS: snapshot; ARGV: version, digest, data
var snapshotScript = redis.NewScript(`
local kept = tonumber(redis.call('HGET', KEYS[1], 'version') or '0')
if kept <= tonumber(ARGV[1]) then
	redis.call('HSET', KEYS[1], 'version', ARGV[1], 'digest', ARGV[2], 'data', ARGV[3])
end
return 0
`)

// SaveSnapshot keeps a snapshot unless a later one is there already, which is
// no error.
func (j *Journal) SaveSnapshot(ctx context.Context, key Key, at Position, data []byte) error {
	if at.Version < 1 {
		panic(fmt.Sprintf("journal: snapshot of version %d", at.Version))
	}
	_, err := onKickoff(j.store, key, fmt.Sprintf("save the snapshot at version %d", at.Version), func(k string) (any, error) {
		return snapshotScript.Run(ctx, j.rdb, []string{k + keySnapshot}, at.Version, at.Digest, data).Result()
	})
	return err
}

// DropSnapshot removes the snapshot of a kickoff: what it was made of is lost.
func (j *Journal) DropSnapshot(ctx context.Context, key Key) error {
	_, err := onKickoff(j.store, key, "remove the snapshot", func(k string) (int64, error) {
		return j.rdb.Unlink(ctx, k+keySnapshot).Result()
	})
	return err
}

// Purge removes a kickoff with everything that was noted about it, but for
// its channel; see PurgeTeam. It can be repeated when it was cut off. Nothing may
// write to the kickoff meanwhile; versions begin at 1 again afterwards.
func (j *Journal) Purge(ctx context.Context, key Key) error {
	_, err := onKickoff(j.store, key, "purge everything", func(k string) (any, error) {
		t, err := j.team(key.Team)
		if err != nil {
			return nil, err
		}
		people, err := j.rdb.SMembers(ctx, k+keyPeople).Result()
		if err != nil {
			return nil, err
		}
		for _, user := range people {
			if err := j.rdb.SRem(ctx, t+keyPerson+plain(user), key.Kickoff).Err(); err != nil {
				return nil, err
			}
		}
		var all []string
		for _, name := range kickoffKeys {
			all = append(all, k+name)
		}
		if err := j.rdb.Unlink(ctx, all...).Err(); err != nil {
			return nil, err
		}
		if err := j.rdb.HDel(ctx, t+keyStages, key.Kickoff).Err(); err != nil {
			return nil, err
		}
		if err := j.rdb.ZRem(ctx, t+keyEnded, key.Kickoff).Err(); err != nil {
			return nil, err
		}
		// Last, since PurgeTeam finds the kickoff here.
		return nil, j.rdb.SRem(ctx, t+keyKickoffs, key.Kickoff).Err()
	})
	return err
}

// PurgeTeam removes all kickoffs of a team and its index, as when the app is
// uninstalled. It can be repeated, as Purge can.
func (j *Journal) PurgeTeam(ctx context.Context, team string) error {
	_, err := onTeam(j.store, team, "purge everything", func(t string) (any, error) {
		kickoffs, err := j.Index.All(ctx, team)
		if err != nil {
			return nil, err
		}
		for _, key := range kickoffs {
			if err := j.Purge(ctx, key); err != nil {
				return nil, err
			}
		}
		if err := j.rdb.Unlink(ctx, t+keyChannels, t+keyGreeted, t+keyProfiles, t+keyStages, t+keyEnded).Err(); err != nil {
			return nil, err
		}
		return nil, j.rdb.SRem(ctx, j.teams(), team).Err()
	})
	return err
}
