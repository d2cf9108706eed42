package incoming

import (
	"net/netip"
	"time"

	lru "github.com/hashicorp/golang-lru/v2"
	"golang.org/x/time/rate"
)

// How many requests an address may send: far more than the platform does, with
// a proxy before the bot too, whose address all of them have. It bounds what a
// flood costs; to tell addresses behind a proxy apart is the proxy's task, and one
// on this machine has no limit here.
const (
	perSecond    = 1000
	burst        = 5000
	mostLimiters = 4096 // addresses that are remembered
)

// limits counts requests by address before anything of them is read.
type limits struct {
	byAddress *lru.Cache[netip.Prefix, *rate.Limiter]
}

func newLimits() limits {
	cache, err := lru.New[netip.Prefix, *rate.Limiter](mostLimiters)
	if err != nil {
		panic(err) // the size is ours
	}
	return limits{cache}
}

func (l limits) allow(remote string, now time.Time) bool {
	from, err := netip.ParseAddrPort(remote)
	address := from.Addr().Unmap()
	if err != nil || address.IsLoopback() { // what comes over no network has no address
		return true
	}
	owned := address.BitLen()
	if address.Is6() {
		owned = 64 // whoever has one address has all of these
	}
	network, _ := address.Prefix(owned) // the bits are there
	limiter, had := l.byAddress.Get(network)
	if !had {
		limiter = rate.NewLimiter(perSecond, burst)
		if first, had, _ := l.byAddress.PeekOrAdd(network, limiter); had {
			limiter = first
		}
	}
	return limiter.AllowN(now, 1)
}
