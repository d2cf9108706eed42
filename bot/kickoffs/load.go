package kickoffs

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"

	"github.com/hashicorp/golang-lru/v2/simplelru"

	"soundings/bot/journal"
	"soundings/flows"
)

// Load folds the journal of a kickoff, from what is cached or from the last
// snapshot on. A kickoff that is not there, or was purged, is the zero one.
func (s *Store) Load(ctx context.Context, key journal.Key) (flows.Kickoff, error) {
	k, cached := s.cache.get(key)
	if !cached {
		version, data, err := s.Journal.Snapshot(ctx, key)
		if err != nil {
			return flows.Kickoff{}, err
		}
		k = s.restore(key, journal.Snapshot{Version: version, Data: data})
	}
	entries, err := s.Journal.Read(ctx, key, k.Version)
	return s.catchUp(key, k, journal.News{Entries: entries, Err: err})
}

// loadAtOnce is of how many kickoffs is asked in one round trip.
const loadAtOnce = 64

// LoadAll is Load for many kickoffs, in few round trips.
func (s *Store) LoadAll(ctx context.Context, keys []journal.Key) ([]flows.Kickoff, error) {
	var all []flows.Kickoff
	for some := range slices.Chunk(keys, loadAtOnce) {
		loaded, err := s.loadSome(ctx, some)
		if err != nil {
			return nil, err
		}
		all = append(all, loaded...)
	}
	return all, nil
}

func (s *Store) loadSome(ctx context.Context, keys []journal.Key) ([]flows.Kickoff, error) {
	all := make([]flows.Kickoff, len(keys))
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
	after := make([]int64, len(keys))
	for i, k := range all {
		after[i] = k.Version
	}
	news, err := s.Journal.ReadAll(ctx, keys, after)
	if err != nil {
		return nil, err
	}
	for i, key := range keys {
		if all[i], err = s.catchUp(key, all[i], news[i]); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// catchUp folds what came after a state, and caches the outcome.
func (s *Store) catchUp(key journal.Key, k flows.Kickoff, news journal.News) (flows.Kickoff, error) {
	if errors.Is(news.Err, journal.ErrPurged) { // what is cached here is all that is left of it
		s.cache.forget(key.Team)
		return s.Empty(), nil
	}
	records, err := decode(news.Entries)
	if err = cmp.Or(news.Err, err); err != nil {
		return flows.Kickoff{}, fmt.Errorf("load kickoff %s: %w", key.Kickoff, err)
	}
	if len(records) > 0 {
		k = flows.Fold(k, k.Version, records)
	}
	if k.Version > 0 {
		s.cache.put(key, k)
	}
	return k, nil
}

func decode(entries []journal.Entry) ([]flows.Record, error) {
	records := make([]flows.Record, len(entries))
	for i, e := range entries {
		// By itself: json.Unmarshal would go over all of it once more before.
		if err := records[i].UnmarshalJSON(e.Data); err != nil {
			return nil, fmt.Errorf("read entry %d: %w", e.Version, err)
		}
	}
	return records, nil
}

// restore reads a snapshot. The journal is the truth: without a snapshot, or
// with one of another release, what is folded begins at the start.
func (s *Store) restore(key journal.Key, kept journal.Snapshot) flows.Kickoff {
	var k flows.Kickoff
	if kept.Version == 0 {
		return s.Empty()
	}
	if err := json.Unmarshal(kept.Data, &k); err != nil {
		s.Logger.Warn("snapshot cannot be read; folding from the start", "kickoff", key.Kickoff, "error", err)
		return s.Empty()
	}
	return k.WithZones(s.Zones)
}

// A cache holds the folded kickoffs that were used last, so that a request
// reads only what is new. Losing it costs time and nothing else.
type cache struct {
	mu     sync.Mutex
	recent *simplelru.LRU[journal.Key, flows.Kickoff] // nil until the first is put
}

// cacheSize bounds the cache: 256 kickoffs of 12 people are about 25 MB.
const cacheSize = 256

func (c *cache) get(key journal.Key) (k flows.Kickoff, cached bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.recent == nil {
		return k, false
	}
	return c.recent.Get(key)
}

// put keeps k unless a later version is kept already.
func (c *cache) put(key journal.Key, k flows.Kickoff) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.recent == nil {
		c.recent, _ = simplelru.NewLRU[journal.Key, flows.Kickoff](cacheSize, nil) // it only refuses a size below one
	}
	if kept, _ := c.recent.Peek(key); kept.Version <= k.Version {
		c.recent.Add(key, k)
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
