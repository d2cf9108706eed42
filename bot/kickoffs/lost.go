package kickoffs

import (
	"context"
	"fmt"
	"slices"

	"soundings/bot/journal"
	"soundings/flows"
	"soundings/flows/state"
)

// startOver folds a kickoff from the start, after the server has lost entries
// that had led to a state. Whose they were is told, once, by whichever process
// had seen them. Where that fails, what was seen is kept, for the next to tell.
func (s *Store) startOver(ctx context.Context, key journal.Key, had folded) (_ folded, err error) {
	defer func() {
		if err != nil {
			s.cache.drop(key)
			s.cache.put(key, had)
		}
	}()
	s.cache.drop(key)
	if err := s.Journal.DropSnapshot(ctx, key); err != nil {
		return folded{}, err
	}
	entries, err := s.Journal.Read(ctx, key, journal.Position{})
	if err != nil {
		return folded{}, err
	}
	now, _, err := s.fold(ctx, key, s.empty(), entries)
	if err != nil || now.Version == 0 {
		return now, err
	}
	s.cache.put(key, now)
	if rewritten, err := s.rewritten(ctx, key, had, now); rewritten || err != nil {
		return now, err
	}
	after, people, sure := had.lost(entries)
	if !sure { // whoever takes part may have been among them
		people = had.Participants()
	}
	if known := now.Loss.After; after > known && known > 0 && had.Loss.After != known {
		// Another process has found it already. What it and others have written since
		// is not what was seen here.
		after = known
	}
	s.Logger.Error("Redis has lost entries of a kickoff", "kickoff", key.Kickoff, "seen", had.Version, "intact", after, "now", now.Version, "people", people)
	if err := s.Journal.Marks.ResetQueued(ctx, key); err != nil {
		return now, err
	}
	told, err := s.do(ctx, key, flows.ReportLoss{After: after, People: people, Posted: had.Posted, Extras: had.Extras}, Origin{})
	if err != nil {
		return now, fmt.Errorf("report what was lost of kickoff %s: %w", key.Kickoff, err)
	}
	for _, w := range told {
		s.follow(ctx, w)
	}
	return s.load(ctx, key)
}

// rewritten reports whether nothing was lost: entries were rewritten, as where
// somebody asked to be forgotten or counted ballots went, and each was written when the one was
// that had led to the state, as far as it still tells.
func (s *Store) rewritten(ctx context.Context, key journal.Key, had, now folded) (bool, error) {
	if now.Version < had.Version {
		return false, nil
	}
	for _, step := range had.recent {
		if i := slices.IndexFunc(now.recent, step.sameVersion); i >= 0 && !now.recent[i].at.IsZero() && !now.recent[i].at.Equal(step.at) {
			return false, nil
		}
	}
	return s.Journal.Marks.Rewritten(ctx, key)
}

// lost compares the steps that led to a state with the entries that are there:
// up to which version they agree, and whose steps behind it are gone. It is not
// sure where more is gone than the steps that are remembered.
func (st folded) lost(entries []journal.Entry) (after int64, people []state.UserID, sure bool) {
	after = min(st.Version, int64(len(entries)))
	if len(st.recent) > 0 {
		after = min(st.recent[0].version-1, after)
	}
	sure = after == 0
	for _, step := range st.recent {
		if i := step.version - 1; i < int64(len(entries)) && journal.Digest(entries[i].Data) == step.digest {
			after, sure = step.version, true
		} else if step.by != "" && !slices.Contains(people, step.by) {
			people = append(people, step.by)
		}
	}
	return after, people, sure
}

// Stands reports whether an entry that was written is still there. One whose
// digest is not known is taken to be.
func (s *Store) Stands(ctx context.Context, key journal.Key, e journal.Position) (bool, error) {
	if e.Digest == "" {
		return true, nil
	}
	st, err := s.load(ctx, key)
	if err != nil || e.Version > st.Version {
		return false, err
	}
	if i := slices.IndexFunc(st.recent, func(step step) bool { return step.version == e.Version }); i >= 0 {
		return st.recent[i].digest == e.Digest, nil
	}
	return s.Journal.Has(ctx, key, e)
}
