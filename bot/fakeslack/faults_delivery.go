package fakeslack

import (
	"context"
	"slices"
	"time"
)

// socketOrHTTP is the transport that goes the way on which the app listens: through
// a socket while one is open, else to its HTTP address. An app without an
// address that has asked for sockets is taken to be reconnecting.
type socketOrHTTP struct {
	http    *httpTransport
	sockets *sockets
}

func (o *socketOrHTTP) deliver(ctx context.Context, p delivery) (answer, error) {
	if o.sockets.open() > 0 || o.sockets.expected() && !o.http.knows() {
		return o.sockets.deliver(ctx, p)
	}
	return o.http.deliver(ctx, p)
}

// A faultyTransport lets deliveries meet the faults that are set.
type faultyTransport struct {
	next   transport
	faults *faultCounter
	pause  func(ctx context.Context, d time.Duration)
}

func (c *faultyTransport) deliver(ctx context.Context, p delivery) (answer, error) {
	fate, twice, wait := c.faults.ofDelivery()
	c.pause(ctx, wait)
	if fate == cutOff {
		return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: "it was cut off"}
	}
	a, err := c.next.deliver(ctx, p)
	if twice {
		again := p
		if p.kind == eventDelivery {
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
func (w *Outbox) holdBack(p delivery) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.late = append(w.late, &lateEvent{delivery: p, due: w.cfg.Patience().Add(heldBy), held: true})
}

// heldBack are the events that wait only for another one.
func (w *Outbox) heldBack() []delivery {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.takeLate(func(e *lateEvent) bool { return e.held })
}

// takeLate takes out the late events that are wanted. It is called locked.
func (w *Outbox) takeLate(wanted func(*lateEvent) bool) []delivery {
	var taken []delivery
	w.late = slices.DeleteFunc(w.late, func(e *lateEvent) bool {
		if !wanted(e) {
			return false
		}
		taken = append(taken, e.delivery)
		return true
	})
	return taken
}
