// Package zones finds time zones by their IANA names in the data of this
// machine. It is for package flows, which opens no file. Start with Cache.
package zones

import (
	"sync"
	"time"
)

// A Cache reads each time zone once. The zero Cache is ready, and may be used
// by many goroutines.
type Cache struct {
	found sync.Map // name -> *time.Location
}

// Zone finds a time zone. "Local" is the machine's own and nobody's home, so
// it is not known.
func (c *Cache) Zone(name string) (zone *time.Location, known bool) {
	if found, is := c.found.Load(name); is {
		return found.(*time.Location), true
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		return nil, false // not kept: anybody may type any name
	}
	c.found.Store(name, zone)
	return zone, true
}
