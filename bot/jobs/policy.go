package jobs

import (
	"cmp"
	"time"
)

// A Policy says how often and how long a job is tried. The zero value stands
// for the defaults.
type Policy struct {
	// Tries is how often a job may fail before it is given up. Default: 100,
	// with the default pauses about a day: an outage of the chat platform
	// should not lose a message.
	Tries int

	// Backoff is the pause after the n-th failure, n from 1. Default: 1 s,
	// then twice as long each time, up to 15 minutes.
	Backoff func(n int) time.Duration

	// Timeout is how long one run may take. Default: 1 minute.
	Timeout time.Duration

	// Retention is how long the id of a job is known after it succeeded.
	// Default: 24 h.
	Retention time.Duration

	// MaxDefer is how long after its time a job may go on asking for another
	// time with Retry. From then on asking counts as failing, so that a job
	// whose condition never comes true ends. Default: 6 h.
	MaxDefer time.Duration
}

func (p Policy) withDefaults() Policy {
	p.Tries = cmp.Or(p.Tries, 100)
	if p.Backoff == nil {
		p.Backoff = doubling
	}
	p.Timeout = cmp.Or(p.Timeout, time.Minute)
	p.Retention = cmp.Or(p.Retention, 24*time.Hour)
	p.MaxDefer = cmp.Or(p.MaxDefer, 6*time.Hour)
	return p
}

// doubling is 1 s, 2 s, 4 s and so on, up to 15 minutes.
func doubling(n int) time.Duration {
	const most = 15 * time.Minute
	if n > 10 {
		return most // 2^10 s is more than that
	}
	return min(time.Second<<(n-1), most)
}
