package journal

import (
	"context"
	"errors"
	"fmt"

	"github.com/redis/go-redis/v9"
)

// This file reads of many kickoffs at once: each a question of its own, all of
// them in one round trip.

// A Snapshot is a state that was kept, and the version it stands for; see
// [Journal.Snapshot].
type Snapshot struct {
	Version int64  `redis:"version"`
	Data    []byte `redis:"data"`
}

// Snapshots returns the last snapshot of each kickoff.
func (j *Journal) Snapshots(ctx context.Context, keys []Key) ([]Snapshot, error) {
	kept := make([]Snapshot, len(keys))
	err := j.each(ctx, "read the snapshots", keys, func(p redis.Pipeliner, i int, k string) func() error {
		cmd := p.HMGet(ctx, k+keySnapshot, "version", "data")
		return func() error { return cmd.Scan(&kept[i]) }
	})
	return kept, err
}

// A News is what came after a version of a kickoff.
type News struct {
	Entries []Entry
	Err     error // ErrPurged, or why the entries of this one cannot be used
}

// ReadAll returns of each kickoff what Read returns after the version at the
// same place.
func (j *Journal) ReadAll(ctx context.Context, keys []Key, after []int64) ([]News, error) {
	news := make([]News, len(keys))
	err := j.each(ctx, "read", keys, func(p redis.Pipeliner, i int, k string) func() error {
		page := p.XRead(ctx, j.page(k+keyEntries, after[i]))
		there := p.Exists(ctx, k+keyEntries)
		return func() error {
			n := &news[i]
			switch err := page.Err(); {
			case err != nil && !errors.Is(err, redis.Nil):
				return err
			case after[i] > 0 && there.Val() == 0:
				n.Err = ErrPurged
			case len(page.Val()) > 0:
				n.Entries, n.Err = appendPage(nil, page.Val()[0].Messages, after[i])
			}
			return there.Err()
		}
	})
	for i := range news {
		if n := &news[i]; err == nil && n.Err == nil && int64(len(n.Entries)) == j.opts.Page {
			var rest []Entry
			rest, n.Err = j.Read(ctx, keys[i], after[i]+j.opts.Page)
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

// page asks for the next page of a stream, without waiting for new entries.
func (j *Journal) page(stream string, after int64) *redis.XReadArgs {
	return &redis.XReadArgs{Streams: []string{stream, idOf(after)}, Count: j.opts.Page, Block: -1}
}
