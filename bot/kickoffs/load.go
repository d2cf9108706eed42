package kickoffs

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"github.com/hashicorp/golang-lru/v2/simplelru"

	"soundings/bot/journal"
	"soundings/flows"
	"soundings/flows/state"
)

// Load folds the journal of a kickoff, from what is cached or from the last
// snapshot on. A kickoff that is not there, or was purged, is the zero one.
func (s *Store) Load(ctx context.Context, key journal.Key) (state.Kickoff, error) {
	st, err := s.load(ctx, key)
	return st.Kickoff, err
}

func (s *Store) load(ctx context.Context, key journal.Key) (folded, error) {
	st, cached := s.cache.get(key)
	if !cached {
		kept, err := s.Journal.Snapshot(ctx, key)
		if err != nil {
			return folded{}, err
		}
		st = s.restore(key, kept)
	}
	entries, err := s.Journal.Read(ctx, key, st.at())
	st, err = s.catchUp(ctx, key, st, journal.News{Entries: entries, Err: err})
	if err == nil && st.blind { // what was read meanwhile may say that they were counted
		entries, err = s.Journal.Read(ctx, key, st.at())
		st, err = s.catchUp(ctx, key, st, journal.News{Entries: entries, Err: err})
	}
	return st, err
}

// loadAtOnce is of how many kickoffs is asked in one round trip.
const loadAtOnce = 64

// LoadAll is Load for many kickoffs, in few round trips. Of one that this release
// cannot read it gives a state that is empty, as of one that is no more, and says so
// in the log: nobody else is kept waiting for it.
func (s *Store) LoadAll(ctx context.Context, keys []journal.Key) ([]state.Kickoff, error) {
	var all []state.Kickoff
	for some := range slices.Chunk(keys, loadAtOnce) {
		loaded, err := s.loadSome(ctx, some)
		if err != nil {
			return nil, err
		}
		all = append(all, loaded...)
	}
	return all, nil
}

func (s *Store) loadSome(ctx context.Context, keys []journal.Key) ([]state.Kickoff, error) {
	all := make([]folded, len(keys))
	var missing []int
	var missed []journal.Key
	for i, key := range keys {
		var cached bool
		if all[i], cached = s.cache.get(key); !cached {
			missing, missed = append(missing, i), append(missed, key)
		}
	}
	kept, err := s.Journal.Snapshots(ctx, missed)
	if err != nil {
		return nil, err
	}
	for n, i := range missing {
		all[i] = s.restore(keys[i], kept[n])
	}
	after := make([]journal.Position, len(keys))
	for i, st := range all {
		after[i] = st.at()
	}
	news, err := s.Journal.ReadAll(ctx, keys, after)
	if err != nil {
		return nil, err
	}
	kickoffs := make([]state.Kickoff, len(keys))
	for i, key := range keys {
		st, err := s.catchUp(ctx, key, all[i], news[i])
		if unreadable(err) {
			s.Logger.Error("a kickoff is left out of a list, since this release cannot read it", "team", key.Team, "error", err)
			continue
		}
		if err != nil {
			return nil, err
		}
		kickoffs[i] = st.Kickoff
	}
	return kickoffs, nil
}

// catchUp folds what came after a state, and caches the outcome.
func (s *Store) catchUp(ctx context.Context, key journal.Key, st folded, news journal.News) (folded, error) {
	switch {
	case errors.Is(news.Err, journal.ErrPurged): // what is cached here is all that is left of it
		s.cache.forget(key.Team)
		return s.empty(), nil
	case errors.Is(news.Err, journal.ErrDiverged):
		return s.startOver(ctx, key, st)
	}
	now, _, err := s.fold(ctx, key, st, news.Entries)
	if err = cmp.Or(news.Err, err); err != nil {
		return folded{}, fmt.Errorf("load kickoff %s: %w", key.Kickoff, err)
	}
	if now.Version > 0 {
		s.cache.put(key, now)
	}
	return now, nil
}

// restore reads a snapshot. The journal is the truth: without a snapshot, or
// with one of another release, what is folded begins at the start.
func (s *Store) restore(key journal.Key, kept journal.Snapshot) folded {
	st := s.empty()
	st.keys = kept.Keys
	if kept.Version == 0 {
		return st
	}
	k, err := readSnapshot(kept.Data, kept.Keys)
	if err != nil {
		s.Logger.Info("snapshot cannot be read; folding from the start", "kickoff", key.Kickoff, "error", err)
		return st
	}
	st.Kickoff, st.digest = flows.WithZones(k, s.Zones), kept.Digest
	return st
}

// A cache holds the folded kickoffs that were used last, so that a request
// reads only what is new. Losing it costs time and nothing else.
type cache struct {
	mu     sync.Mutex
	recent *simplelru.LRU[journal.Key, folded] // nil until the first is put
}

// cacheSize bounds the cache: 256 kickoffs of 12 people are about 25 MB.
const cacheSize = 256

func (c *cache) get(key journal.Key) (st folded, cached bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.recent == nil {
		return st, false
	}
	return c.recent.Get(key)
}

// isAhead reports whether what is kept of a kickoff goes beyond a version.
func (c *cache) isAhead(key journal.Key, version int64) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.recent == nil {
		return false
	}
	kept, _ := c.recent.Peek(key) // whoever only looks does not keep it from being dropped
	return kept.Version > version
}

// put keeps a state unless a later one is kept already.
func (c *cache) put(key journal.Key, st folded) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.recent == nil {
		c.recent, _ = simplelru.NewLRU[journal.Key, folded](cacheSize, nil) // it only refuses a size below one
	}
	if kept, _ := c.recent.Peek(key); kept.Version <= st.Version {
		c.recent.Add(key, st)
	}
}

// forget drops the kickoffs of a team.
func (c *cache) forget(team string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.recent == nil {
		return
	}
	for _, key := range c.recent.Keys() {
		if key.Team == team {
			c.recent.Remove(key)
		}
	}
}

// drop drops one kickoff.
func (c *cache) drop(key journal.Key) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.recent != nil {
		c.recent.Remove(key)
	}
}
