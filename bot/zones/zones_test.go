package zones_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot/zones"
)

func TestZone(t *testing.T) {
	var c zones.Cache
	first, known := c.Zone("Pacific/Auckland")
	assert.True(t, known)
	again, _ := c.Zone("Pacific/Auckland")
	assert.Same(t, first, again)
	for _, name := range []string{"Local", "Pacific/Nowhere", "../etc/passwd", "europe lisbon"} {
		zone, known := c.Zone(name)
		assert.False(t, known, name)
		assert.Nil(t, zone, name)
	}
	utc, known := c.Zone("")
	assert.True(t, known)
	assert.Equal(t, time.UTC, utc)
}
