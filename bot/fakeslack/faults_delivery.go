package fakeslack

import (
	"context"
	"slices"
	"time"
)

// waysOut is the courier that goes the way on which the app listens: through
// a socket while one is open, else to its HTTP address. An app without an
// address that has asked for sockets is taken to be reconnecting.
type waysOut struct {
	http    *httpCourier
	sockets *switchboard
}

func (o *waysOut) deliver(ctx context.Context, p parcel) (answer, error) {
	if o.sockets.open() > 0 || o.sockets.expected() && !o.http.knows() {
		return o.sockets.deliver(ctx, p)
	}
	return o.http.deliver(ctx, p)
}

// A troubledCourier lets deliveries meet the faults that are set.
type troubledCourier struct {
	next     courier
	troubles *troubles
	pause    func(ctx context.Context, d time.Duration)
}

func (c *troubledCourier) deliver(ctx context.Context, p parcel) (answer, error) {
	fate, twice, wait := c.troubles.ofDelivery()
	c.pause(ctx, wait)
	if fate == cutOff {
		return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: "it was cut off"}
	}
	a, err := c.next.deliver(ctx, p)
	if twice {
		again := p
		if p.kind == eventParcel {
			again.retry, again.reason = p.retry+1, "http_timeout"
		}
		_, _ = c.next.deliver(ctx, again) // the first answer has been taken
	}
	if fate == unheard {
		return answer{}, &deliveryError{kind: p.kind, reason: "http_timeout", detail: "the answer was lost"}
	}
	return a, err
}

// holdBack keeps an event until another was delivered, or a while has passed.
func (w *Team) holdBack(p parcel) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.late = append(w.late, &lateEvent{parcel: p, due: w.cfg.Patience().Add(heldBy), held: true})
}

// heldBack are the events that wait only for another one.
func (w *Team) heldBack() []parcel {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.takeLate(func(e *lateEvent) bool { return e.held })
}

// takeLate takes out the late events that are wanted. It is called locked.
func (w *Team) takeLate(wanted func(*lateEvent) bool) []parcel {
	var taken []parcel
	w.late = slices.DeleteFunc(w.late, func(e *lateEvent) bool {
		if !wanted(e) {
			return false
		}
		taken = append(taken, e.parcel)
		return true
	})
	return taken
}
