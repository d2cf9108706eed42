package fakeslack

import (
	"cmp"
	"maps"
	"sync"
	"time"
)

// Faults say what goes wrong between the bot and the platform, on demand, by
// the names of FaultKinds. Each is counted by itself, over what the ones before
// it in that list have let through, so that each strikes as often as it was set
// to. Nothing is random: the same run meets the same faults.
//
// Calls are those of the bot to the Web API, to upload addresses and to
// response URLs; opening a socket always works. Deliveries are what the
// team sends to the bot.
type Faults map[string]Fault

// A Fault strikes every so many times: 5 means every fifth time, 1 always, 0
// never.
type Fault struct {
	Every int
	Lasts time.Duration // of one that takes time; zero is as long as usual
}

const (
	slowBy     = time.Second
	limitedFor = 20 * time.Second // a storm, by the team's patience
	heldBy     = time.Second      // how long a reordered event waits for another
)

// A FaultCounter counts the occasions for each fault.
type FaultCounter struct {
	mu        sync.Mutex
	faults    Faults
	occasions map[string]int
	struck    map[string]int
	storms    map[string]time.Time // until when, by method
}

func newFaultCounter(f Faults) *FaultCounter {
	t := &FaultCounter{}
	t.Set(f)
	return t
}

// Set says what goes wrong from now on, and counts anew. Storms end.
func (t *FaultCounter) Set(f Faults) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.faults = f
	t.occasions, t.struck, t.storms = map[string]int{}, map[string]int{}, map[string]time.Time{}
}

// Now says what is to go wrong.
func (t *FaultCounter) Now() Faults {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.faults
}

// Struck counts what has gone wrong since Set, by the names that ParseFaults
// takes.
func (t *FaultCounter) Struck() map[string]int {
	t.mu.Lock()
	defer t.mu.Unlock()
	return maps.Clone(t.struck)
}

// strikes counts one occasion for a fault, and says whether it is the one in
// every. Calls and deliveries are counted apart. It is called locked.
func (t *FaultCounter) strikes(fault, where string) bool {
	every := t.faults[fault].Every
	if every <= 0 {
		return false
	}
	t.occasions[fault+where]++
	if t.occasions[fault+where]%every != 0 {
		return false
	}
	t.struck[fault]++
	return true
}

// A fate is what becomes of a call or a delivery.
type fate int

const (
	spared fate = iota
	cutOff
	failing
	limited
	unheard
)

// ofCall decides about a call. wait is how much later it comes, or for a
// limited one how long the bot is asked to wait.
func (t *FaultCounter) ofCall(method string, now time.Time) (f fate, wait time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if left := t.storms[method].Sub(now); left > 0 {
		t.struck[faultLimited]++
		return limited, left
	}
	if t.strikes(faultSlow, "call") {
		wait = cmp.Or(t.faults[faultSlow].Lasts, slowBy)
	}
	switch {
	case t.strikes(faultRefused, "call"):
		return cutOff, wait
	case t.strikes(faultFailed, "call"):
		return failing, wait
	case t.strikes(faultLimited, "call"):
		wait = cmp.Or(t.faults[faultLimited].Lasts, limitedFor)
		t.storms[method] = now.Add(wait)
		return limited, wait
	case t.strikes(faultLost, "call"):
		return unheard, wait
	}
	return spared, wait
}

// ofDelivery decides about a delivery, and whether it comes twice.
func (t *FaultCounter) ofDelivery() (f fate, twice bool, wait time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.strikes(faultSlow, "delivery") {
		wait = cmp.Or(t.faults[faultSlow].Lasts, slowBy)
	}
	switch {
	case t.strikes(faultRefused, "delivery"):
		return cutOff, false, wait
	case t.strikes(faultLost, "delivery"):
		return unheard, false, wait
	}
	return spared, t.strikes(faultDoubled, "delivery"), wait
}

// ofEvent reports whether an event is to wait for the next one.
func (t *FaultCounter) ofEvent() bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.strikes(faultReordered, "event")
}

// ofSocket decides about a delivery by socket: by turns it never leaves, and
// nothing comes back.
func (t *FaultCounter) ofSocket() fate {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case !t.strikes(faultDropped, "socket"):
		return spared
	case t.struck[faultDropped]%2 == 1:
		return cutOff
	}
	return unheard
}
