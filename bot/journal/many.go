package journal

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/redis/go-redis/v9"
)

// This file reads of many kickoffs at once: each a question of its own, all of
// them in one round trip.

// A Snapshot is a state that was kept, and the entry it stands for; see
// [Journal.Snapshot].
type Snapshot struct {
	Version int64  `redis:"version"`
	Digest  string `redis:"digest"` // empty where an older release kept it
	Data    []byte `redis:"data"`

	Keys map[string][]byte // of the boxes of ballots; the state may be sealed with them
}

// Snapshots returns the last snapshot of each kickoff.
func (j *Journal) Snapshots(ctx context.Context, keys []Key) ([]Snapshot, error) {
	kept := make([]Snapshot, len(keys))
	err := j.each(ctx, "read the snapshots", keys, func(p redis.Pipeliner, i int, k string) func() error {
		cmd, keys := p.HMGet(ctx, k+keySnapshot, "version", "digest", "data"), p.HGetAll(ctx, k+keyBoxKeys)
		return func() error {
			kept[i].Keys = standing(keys.Val())
			return cmp.Or(cmd.Scan(&kept[i]), keys.Err())
		}
	})
	return kept, err
}

// A News is what came after a version of a kickoff.
type News struct {
	Entries []Entry
	Err     error // ErrPurged, ErrDiverged, or why the entries of this one cannot be used
}

// ReadAll returns of each kickoff what Read returns after the position at the
// same place.
func (j *Journal) ReadAll(ctx context.Context, keys []Key, after []Position) ([]News, error) {
	news := make([]News, len(keys))
	var packed []int
	err := j.each(ctx, "read", keys, func(p redis.Pipeliner, i int, k string) func() error {
		page := p.XRead(ctx, j.page(k+keyEntries, after[i].Version))
		there := p.Exists(ctx, k+keyEntries)
		instead := p.HMGet(ctx, k+keyPacked, "version", "digest")
		return func() error {
			if err := page.Err(); err != nil && !errors.Is(err, redis.Nil) {
				return err
			}
			if there.Err() == nil && there.Val() == 0 {
				var record packedRecord
				if err := instead.Scan(&record); err != nil || record.isAt(after[i]) {
					return err
				}
				packed = append(packed, i)
				return nil
			}
			n := &news[i]
			messages, err := follows(page.Val(), there.Val() > 0, after[i])
			if n.Err = err; err == nil {
				n.Entries, n.Err = appendPage(nil, messages, after[i].Version)
			}
			return there.Err()
		}
	})
	for _, i := range packed {
		if err == nil {
			news[i].Entries, news[i].Err = j.Read(ctx, keys[i], after[i])
		}
	}
	for i := range news {
		if n := &news[i]; err == nil && n.Err == nil && !slices.Contains(packed, i) && int64(len(n.Entries)) == j.opts.Page {
			var rest []Entry
			rest, n.Err = j.Read(ctx, keys[i], n.Entries[len(n.Entries)-1].Position())
			n.Entries = append(n.Entries, rest...)
		}
	}
	return news, err
}

// Last returns the last version of each kickoff, or 0.
func (j *Journal) Last(ctx context.Context, keys []Key) ([]int64, error) {
	versions := make([]int64, len(keys))
	err := j.each(ctx, "read the last version", keys, func(p redis.Pipeliner, i int, k string) func() error {
		cmd := p.XRevRangeN(ctx, k+keyEntries, "+", "-", 1)
		return func() error {
			if len(cmd.Val()) == 0 {
				return cmd.Err()
			}
			e, err := entryOf(cmd.Val()[0])
			versions[i] = e.Version
			return err
		}
	})
	return versions, err
}

// Queued returns of each kickoff the version up to which all effects were
// queued, or 0.
func (m *Marks) Queued(ctx context.Context, keys []Key) ([]int64, error) {
	versions := make([]int64, len(keys))
	err := m.each(ctx, "read what was queued", keys, func(p redis.Pipeliner, i int, k string) func() error {
		cmd := p.HGet(ctx, k+keyCursors, queued)
		return func() (err error) {
			if versions[i], err = cmd.Int64(); errors.Is(err, redis.Nil) {
				return nil
			}
			return err
		}
	})
	return versions, err
}

// each asks something of each kickoff, and takes the answers once all are
// there.
func (s store) each(ctx context.Context, what string, keys []Key, ask func(p redis.Pipeliner, i int, k string) (take func() error)) error {
	if len(keys) == 0 {
		return nil
	}
	pipe := s.rdb.Pipeline()
	takes := make([]func() error, len(keys))
	for i, key := range keys {
		k, err := s.kickoff(key)
		if err != nil {
			return err
		}
		takes[i] = ask(pipe, i, k)
	}
	_, _ = pipe.Exec(ctx) // each answer carries its own error, and none is often no fault
	for i, take := range takes {
		if err := take(); err != nil {
			return fmt.Errorf("%s, of kickoff %s and others: %w", what, keys[i].Kickoff, err)
		}
	}
	return nil
}
