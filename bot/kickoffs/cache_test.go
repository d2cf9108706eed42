package kickoffs

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/journal"
	"soundings/flows/state"
)

// The cache drops what was used the longest ago, keeps no earlier version over
// a later one, and forgets a team.
func TestCache(t *testing.T) {
	t.Parallel()
	var c cache
	key := func(n int) journal.Key { return journal.Key{Team: fmt.Sprint("T", n%2), Kickoff: fmt.Sprint("K", n)} }
	at := func(version int64) folded { return folded{Kickoff: state.Kickoff{Version: version}} }
	cached := func(n int) bool {
		_, is := c.get(key(n))
		return is
	}
	assert.False(t, cached(0), "nothing is cached yet")
	c.forget("T0")
	for n := range cacheSize {
		c.put(key(n), at(5))
	}
	assert.True(t, cached(0)) // read just now
	c.put(key(1), at(6))      // written just now
	c.put(key(2), at(4))      // old news use nothing
	c.put(key(1000), at(1))   // 2 makes room
	c.put(key(1001), at(1))   // and 3
	assert.False(t, cached(2), "used the longest ago")
	assert.False(t, cached(3), "used the longest ago but one")
	for _, n := range []int{0, 1, 4, cacheSize - 1, 1000, 1001} {
		assert.True(t, cached(n), n)
	}
	c.put(key(1), at(5))
	k, _ := c.get(key(1))
	assert.Equal(t, int64(6), k.Version, "a later version stays")
	c.forget("T1")
	assert.False(t, cached(1))
	assert.False(t, cached(1001))
	assert.True(t, cached(0), "another team's")
}
