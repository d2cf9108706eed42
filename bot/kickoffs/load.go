package kickoffs

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"sync"

	"soundings/bot/journal"
	"soundings/flows"
)

// Load folds the journal of a kickoff, from what is cached or from the last
// snapshot on. A kickoff that is not there, or was purged, is the zero one.
func (s *Store) Load(ctx context.Context, key journal.Key) (flows.Kickoff, error) {
	k, cached := s.cache.get(key)
	if !cached {
		var err error
		if k, err = s.loadSnapshot(ctx, key); err != nil {
			return k, err
		}
		k = k.WithZones(s.Zones)
	}
	entries, err := s.Journal.Read(ctx, key, k.Version)
	if errors.Is(err, journal.ErrPurged) { // what is cached here is all that is left of it
		s.cache.forget(key.Team)
		return s.Empty(), nil
	}
	if err != nil {
		return flows.Kickoff{}, fmt.Errorf("load kickoff %s: %w", key.Kickoff, err)
	}
	if len(entries) == 0 {
		return k, nil
	}
	records, err := decode(entries)
	if err != nil {
		return flows.Kickoff{}, fmt.Errorf("load kickoff %s: %w", key.Kickoff, err)
	}
	before := k.Version
	k = flows.Fold(k, before, records)
	s.cache.put(key, k)
	s.saveSnapshot(ctx, key, k, before)
	return k, nil
}

func decode(entries []journal.Entry) ([]flows.Record, error) {
	records := make([]flows.Record, len(entries))
	for i, e := range entries {
		if err := json.Unmarshal(e.Data, &records[i]); err != nil {
			return nil, fmt.Errorf("read entry %d: %w", e.Version, err)
		}
	}
	return records, nil
}

func (s *Store) loadSnapshot(ctx context.Context, key journal.Key) (flows.Kickoff, error) {
	var k flows.Kickoff
	version, data, err := s.Journal.Snapshot(ctx, key)
	if err != nil {
		return k, fmt.Errorf("load snapshot of %s: %w", key.Kickoff, err)
	}
	if version == 0 {
		return k, nil
	}
	if err := json.Unmarshal(data, &k); err != nil {
		// The journal is the truth; a snapshot of another release is not.
		s.Logger.Warn("snapshot cannot be read; folding from the start", "kickoff", key.Kickoff, "error", err)
		return flows.Kickoff{}, nil
	}
	return k, nil
}

// snapshotEvery is how many entries a process reads before it leaves a
// snapshot for the next one that starts.
const snapshotEvery = 200

func (s *Store) saveSnapshot(ctx context.Context, key journal.Key, k flows.Kickoff, before int64) {
	if k.Version/snapshotEvery == before/snapshotEvery {
		return
	}
	data, err := json.Marshal(k)
	if err == nil {
		err = s.Journal.SaveSnapshot(ctx, key, k.Version, data)
	}
	if err != nil { // the journal still holds everything
		s.Logger.Warn("snapshot was not saved", "kickoff", key.Kickoff, "error", err)
	}
}

// A cache holds folded kickoffs, so that a request reads only what is new.
// Losing it costs time and nothing else.
type cache struct {
	mu       sync.Mutex
	kickoffs map[journal.Key]flows.Kickoff
}

// cacheSize bounds the cache; past it, an arbitrary kickoff makes room.
const cacheSize = 256

func (c *cache) get(key journal.Key) (k flows.Kickoff, cached bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	k, cached = c.kickoffs[key]
	return k, cached
}

// put keeps k unless a later version is kept already.
func (c *cache) put(key journal.Key, k flows.Kickoff) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kickoffs[key].Version > k.Version {
		return
	}
	if _, known := c.kickoffs[key]; !known && len(c.kickoffs) >= cacheSize {
		for other := range c.kickoffs {
			delete(c.kickoffs, other)
			break
		}
	}
	if c.kickoffs == nil {
		c.kickoffs = map[journal.Key]flows.Kickoff{}
	}
	c.kickoffs[key] = k
}

// forget drops the kickoffs of a team.
func (c *cache) forget(team string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	maps.DeleteFunc(c.kickoffs, func(key journal.Key, _ flows.Kickoff) bool { return key.Team == team })
}
