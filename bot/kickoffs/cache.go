package kickoffs

import (
	"maps"
	"sync"

	"soundings/bot/journal"
	"soundings/flows"
)

// A cache holds folded kickoffs, so that a request reads only what is new.
// Losing it costs time and nothing else.
type cache struct {
	mu       sync.Mutex
	kickoffs map[journal.Key]flows.Kickoff
}

// cacheSize bounds the cache; past it, an arbitrary kickoff makes room.
const cacheSize = 256

func (c *cache) get(key journal.Key) flows.Kickoff {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.kickoffs[key]
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
