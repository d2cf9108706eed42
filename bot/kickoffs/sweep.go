package kickoffs

import (
	"context"
	"fmt"
	"math"

	"soundings/bot/journal"
	"soundings/flows"
)

// Sweep hands on the effects of entries whose effects never were, as when a
// process died between the append and the queue. What was queued already is
// refused by its id, what was done already is found done.
func (s *Store) Sweep(ctx context.Context) error {
	keys, err := s.Journal.Index.Open(ctx)
	if err != nil {
		return fmt.Errorf("list open kickoffs: %w", err)
	}
	uninstalled, err := s.Journal.Uninstalls.All(ctx)
	if err != nil {
		return err
	}
	for _, key := range keys {
		if _, is := uninstalled[key.Team]; is {
			continue // it is swept when the team has the app again
		}
		if err := s.SweepKickoff(ctx, key); err != nil {
			return fmt.Errorf("sweep kickoff %s: %w", key.Kickoff, err)
		}
	}
	return nil
}

// SweepKickoff does for one kickoff what Sweep does for all.
func (s *Store) SweepKickoff(ctx context.Context, key journal.Key) error {
	queued, err := s.Journal.Marks.Queued(ctx, key)
	if err != nil {
		return err
	}
	now, err := s.Load(ctx, key)
	if err != nil || now.Version <= queued {
		return err
	}
	err = s.Replay(ctx, key, queued, math.MaxInt64, func(version int64, effects []flows.Effect) error {
		return s.Follower.Follow(ctx, Entry{Key: key, Version: version}, effects)
	})
	if err != nil {
		return err
	}
	return s.Journal.Marks.SetQueued(ctx, key, now.Version)
}

// Replay tells the effects of the entries between two versions, as they were
// when each was written. An error of each ends it.
func (s *Store) Replay(ctx context.Context, key journal.Key, after, before int64, each func(version int64, effects []flows.Effect) error) error {
	entries, err := s.Journal.Read(ctx, key, 0)
	if err != nil {
		return err
	}
	records, err := decode(entries)
	if err != nil {
		return err
	}
	k := s.Empty()
	for i, r := range records {
		version := entries[i].Version
		if version >= before {
			break
		}
		k = flows.Apply(k, version, r)
		if version <= after {
			continue
		}
		if err := each(version, flows.React(k, r)); err != nil {
			return err
		}
	}
	return nil
}
