package fakeslack

import (
	"slices"
	"strconv"
	"time"
)

// A tier says how often a method may be called. The platform gives "at least
// so many a minute" and leaves bursts open; here a tier is that many in any
// minute, counted for the method over the whole team, by the team's
// patience. Source: java-slack-sdk's rate_limit_tiers.json and the rate limits
// page.
type tier int

const (
	tier1 tier = iota + 1
	tier2
	tier3
	tier4
	tierSpecial // "hundreds a minute"
	tierPosting // special, and one message a second in each channel
	// tierConnecting is tier 1 as we read it: an app may hold ten sockets, so
	// it may open ten, and one more for each that the platform ended.
	tierConnecting
)

// perMinute is how many calls a tier allows; posting is "several hundred".
var perMinute = map[tier]int{tier1: 1, tier2: 20, tier3: 50, tier4: 100, tierSpecial: 600, tierPosting: 300}

const (
	// postBurst is how many messages a channel takes at once before it asks
	// for one a second: "short bursts" says the platform; five is our choice.
	postBurst = 5
	postEvery = time.Second
)

// A rateBook remembers when each method, and each channel, was last used.
type rateBook struct {
	calls   map[string][]time.Time
	posts   map[string]*bucket
	sockets *bucket
}

// A bucket holds what may still be done at once, and fills with time.
type bucket struct {
	left float64
	at   time.Time
}

// take takes one out, or says when there will be one. The bucket fills by one
// at every, up to most.
func (k *bucket) take(most int, every time.Duration, now time.Time) time.Duration {
	k.left = min(float64(most), k.left+float64(now.Sub(k.at))/float64(every))
	k.at = now
	if k.left < 1 {
		return time.Duration((1 - k.left) * float64(every))
	}
	k.left--
	return 0
}

// tooOften says how long the bot has to wait before this call is taken; zero
// means that it is taken now, and counted.
func (api *webAPI) tooOften(name string, t tier, a args) time.Duration {
	if !api.cfg.EnforceRates {
		return 0
	}
	now := api.cfg.Patience()
	if t == tierConnecting {
		return api.rates.connecting(api.sockets.takeEnded(), now)
	}
	if wait := api.rates.minute(name, perMinute[t], now); wait > 0 {
		return wait
	}
	if t == tierPosting {
		if wait := api.rates.channel(a.str("channel"), now); wait > 0 {
			return wait
		}
	}
	api.rates.calls[name] = append(api.rates.calls[name], now)
	return 0
}

// minute says when there is room for one more call of a method.
func (b *rateBook) minute(name string, most int, now time.Time) time.Duration {
	b.calls[name] = slices.DeleteFunc(b.calls[name], func(at time.Time) bool { return now.Sub(at) >= time.Minute })
	recent := b.calls[name]
	if len(recent) < most {
		return 0
	}
	return recent[len(recent)-most].Add(time.Minute).Sub(now)
}

func (b *rateBook) channel(id string, now time.Time) time.Duration {
	if b.posts[id] == nil {
		b.posts[id] = &bucket{left: postBurst, at: now}
	}
	return b.posts[id].take(postBurst, postEvery, now)
}

// connecting gives back first what the platform itself has ended.
func (b *rateBook) connecting(ended int, now time.Time) time.Duration {
	if b.sockets == nil {
		b.sockets = &bucket{left: mostSockets, at: now}
	}
	b.sockets.left += float64(ended)
	return b.sockets.take(mostSockets, time.Minute, now)
}

// wholeSeconds rounds a wait up, as Retry-After has no fractions.
func wholeSeconds(wait time.Duration) string {
	return strconv.FormatInt(int64((wait+time.Second-1)/time.Second), 10)
}
