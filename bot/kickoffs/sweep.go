package kickoffs

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

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
	keys = slices.DeleteFunc(keys, func(key journal.Key) bool {
		_, is := uninstalled[key.Team]
		return is // it is swept when the team has the app again
	})
	// What one kickoff has against it does not keep the others waiting.
	var failed []error
	for some := range slices.Chunk(keys, loadAtOnce) {
		failed = append(failed, s.sweepSome(ctx, some))
		if ctx.Err() != nil {
			break
		}
	}
	return errors.Join(failed...)
}

// SweepKickoff does for one kickoff what Sweep does for all.
func (s *Store) SweepKickoff(ctx context.Context, key journal.Key) error {
	return s.sweepSome(ctx, []journal.Key{key})
}

// sweepSome looks which kickoffs have entries beyond those that were queued,
// in two round trips: mostly none has, and then no state is needed.
func (s *Store) sweepSome(ctx context.Context, keys []journal.Key) error {
	queued, err := s.Journal.Marks.Queued(ctx, keys)
	if err != nil {
		return err
	}
	last, err := s.Journal.Last(ctx, keys)
	if err != nil {
		return err
	}
	var failed []error
	for i, key := range keys {
		if s.cache.isAhead(key, last[i]) {
			// The server has lost entries, or somebody has written since: a look tells, and
			// has what was lost reported. Where nobody presses anything, no one else looks.
			if _, err := s.load(ctx, key); err != nil {
				failed = append(failed, fmt.Errorf("sweep kickoff %s: %w", key.Kickoff, err))
				continue
			}
		}
		if last[i] == queued[i] {
			continue
		}
		if last[i] < queued[i] { // the server has lost entries
			queued[i] = 0
			if err := s.Journal.Marks.ResetQueued(ctx, key); err != nil {
				return err
			}
		}
		if err := s.sweepAfter(ctx, key, queued[i]); err != nil {
			failed = append(failed, fmt.Errorf("sweep kickoff %s: %w", key.Kickoff, err))
		}
	}
	return errors.Join(failed...)
}

// snapshotEvery is how many entries are folded before a snapshot is left for
// whoever starts next.
const snapshotEvery = 200

// sweepAfter hands on the effects of the entries after a version. It is the one
// that saves snapshots: none is beyond what was queued, so that it can always
// begin at one.
func (s *Store) sweepAfter(ctx context.Context, key journal.Key, queued int64) error {
	from, err := s.asOf(ctx, key, queued)
	if err != nil {
		return err
	}
	k, err := s.replay(ctx, key, from, queued, math.MaxInt64, func(e Entry, effects []flows.Effect) error {
		return s.Follower.Follow(ctx, e, effects)
	})
	if err != nil || k.Version <= queued {
		return err
	}
	if err := s.Journal.Marks.SetQueued(ctx, key, k.Version); err != nil {
		return err
	}
	if k.Version/snapshotEvery == queued/snapshotEvery && k.Version-from.Version < snapshotEvery {
		return nil
	}
	data, err := k.snapshot()
	if err != nil || data == nil {
		return err
	}
	return s.Journal.SaveSnapshot(ctx, key, k.at(), data)
}

// asOf is the latest state at hand that is not beyond a version.
func (s *Store) asOf(ctx context.Context, key journal.Key, version int64) (folded, error) {
	if st, cached := s.cache.get(key); cached && st.Version <= version {
		return st, nil
	}
	kept, err := s.Journal.Snapshot(ctx, key)
	if err != nil || kept.Version > version {
		return s.empty(), err
	}
	return s.restore(key, kept), nil
}

// Replay tells the effects of the entries between two versions, as they were
// when each was written. An error of each ends it.
func (s *Store) Replay(ctx context.Context, key journal.Key, after, before int64, each func(Entry, []flows.Effect) error) error {
	from, err := s.asOf(ctx, key, after)
	if err == nil {
		_, err = s.replay(ctx, key, from, after, before, each)
	}
	return err
}

// replay is Replay from a state on that is not beyond after. It gives back the
// state that it came to.
func (s *Store) replay(ctx context.Context, key journal.Key, from folded, after, before int64, each func(Entry, []flows.Effect) error) (folded, error) {
	entries, err := s.Journal.Read(ctx, key, from.at())
	if errors.Is(err, journal.ErrDiverged) { // what was cached, or kept as a snapshot, never was
		from = s.empty()
		entries, err = s.Journal.Read(ctx, key, from.at())
	}
	if errors.Is(err, journal.ErrPurged) {
		return s.empty(), nil
	}
	if err != nil {
		return from, err
	}
	known := max(0, min(after-from.Version, int64(len(entries))))
	st, _, err := s.fold(ctx, key, from, entries[:known])
	if err != nil {
		return from, err
	}
	end, records, err := s.fold(ctx, key, st, entries[known:])
	if err != nil {
		return from, err
	}
	st.keys = end.keys
	for i, r := range records {
		e := entries[known:][i]
		if e.Version >= before {
			break
		}
		step := step{e.Version, journal.Digest(e.Data), r.By, r.At}
		st = st.then(flows.Apply(st.Kickoff, e.Version, r), step)
		if err := each(Entry{Key: key, Version: e.Version, Digest: step.digest}, flows.React(st.Kickoff, r)); err != nil {
			return st, err
		}
	}
	return st, nil
}
