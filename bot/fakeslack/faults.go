package fakeslack

import (
	"maps"
	"sync"
	"time"
)

// Faults say what goes wrong between the bot and the platform, on demand. The
// whole numbers count: 5 means every fifth time, 1 always, 0 never. Each is
// counted by itself, over what the ones before it in this list have let
// through, so that none hides behind another. Nothing is drawn: the same run
// meets the same faults.
//
// Calls are those of the bot to the Web API, to upload addresses and to
// response URLs; opening a socket always works. Deliveries are what the
// team sends to the bot.
type Faults struct {
	// Slow calls and deliveries take SlowBy longer than they should; zero is
	// a second.
	Slow   int           `json:"slow,omitempty"`
	SlowBy time.Duration `json:"slow_by,omitempty"`

	// Refused calls and deliveries are cut off before anything is done.
	Refused int `json:"refused,omitempty"`

	// Failed calls are answered with 503 and nothing is done.
	Failed int `json:"failed,omitempty"`

	// Limited calls begin a storm: for LimitedFor, by the team's
	// patience, every call of the same method is answered with 429 and a
	// Retry-After. Zero is 20 s.
	Limited    int           `json:"limited,omitempty"`
	LimitedFor time.Duration `json:"limited_for,omitempty"`

	// Lost calls and deliveries are done, but nobody hears of it.
	Lost int `json:"lost,omitempty"`

	// Doubled deliveries arrive twice. The second answer goes nowhere.
	Doubled int `json:"doubled,omitempty"`

	// Reordered events arrive after the event that follows them; a second
	// later if none does.
	Reordered int `json:"reordered,omitempty"`

	// Dropped sockets end without a word when a delivery is due: by turns
	// before it was sent, and after it was acknowledged.
	Dropped int `json:"dropped,omitempty"`
}

const (
	slowBy     = time.Second
	limitedFor = 20 * time.Second
	heldBy     = time.Second // how long a reordered event waits for another
)

func (f Faults) withDefaults() Faults {
	if f.SlowBy <= 0 {
		f.SlowBy = slowBy
	}
	if f.LimitedFor <= 0 {
		f.LimitedFor = limitedFor
	}
	return f
}

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
	t.faults = f.withDefaults()
	t.occasions, t.struck, t.storms = map[string]int{}, map[string]int{}, map[string]time.Time{}
}

// Now says what is to go wrong, with its defaults filled in.
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
func (t *FaultCounter) strikes(fault, where string, every int) bool {
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
	if t.strikes(faultSlow, "call", t.faults.Slow) {
		wait = t.faults.SlowBy
	}
	switch {
	case t.strikes(faultRefused, "call", t.faults.Refused):
		return cutOff, wait
	case t.strikes(faultFailed, "call", t.faults.Failed):
		return failing, wait
	case t.strikes(faultLimited, "call", t.faults.Limited):
		t.storms[method] = now.Add(t.faults.LimitedFor)
		return limited, t.faults.LimitedFor
	case t.strikes(faultLost, "call", t.faults.Lost):
		return unheard, wait
	}
	return spared, wait
}

// ofDelivery decides about a delivery, and whether it comes twice.
func (t *FaultCounter) ofDelivery() (f fate, twice bool, wait time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.strikes(faultSlow, "delivery", t.faults.Slow) {
		wait = t.faults.SlowBy
	}
	switch {
	case t.strikes(faultRefused, "delivery", t.faults.Refused):
		return cutOff, false, wait
	case t.strikes(faultLost, "delivery", t.faults.Lost):
		return unheard, false, wait
	}
	return spared, t.strikes(faultDoubled, "delivery", t.faults.Doubled), wait
}

// ofEvent reports whether an event is to wait for the next one.
func (t *FaultCounter) ofEvent() bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.strikes(faultReordered, "event", t.faults.Reordered)
}

// A drop is how a socket ends at a delivery.
type drop int

const (
	dropNot drop = iota
	dropBefore
	dropAfter
)

// ofSocket decides about a delivery by socket: by turns it never leaves, and
// nothing comes back.
func (t *FaultCounter) ofSocket() drop {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case !t.strikes(faultDropped, "socket", t.faults.Dropped):
		return dropNot
	case t.struck[faultDropped]%2 == 1:
		return dropBefore
	}
	return dropAfter
}
