package fakeslack

import (
	"context"
	"errors"
	"slices"
	"time"
)

// retryAfter is when the platform tries an event again: at once, then a
// minute and five minutes later. Source: the Events API page.
func retryAfter() []time.Duration { return []time.Duration{0, time.Minute, 5 * time.Minute} }

// A lateEvent waits for its next try, by the team's patience.
type lateEvent struct {
	delivery delivery
	due      time.Time
	held     bool // until another event has been delivered, not because it failed
}

// An Outbox sends events to the bot, and keeps those that it did not take.
type Outbox struct {
	*core
	transport transport // what goes to the bot goes this way
	faults    *FaultCounter
	late      []*lateEvent // events the bot did not take
}

// event wraps an inner event as the Events API does. It is called with the
// team locked; extShared is of the channel that the event is about.
func (w *Outbox) event(inner reply, extShared bool) delivery {
	return delivery{kind: eventDelivery, payload: reply{
		"token": verificationToken, "type": "event_callback",
		"team_id": w.team, "api_app_id": w.app,
		"event": inner, "event_id": w.nextID("Ev"), "event_time": w.Now().Unix(),
		"is_ext_shared_channel": extShared,
		"authorizations": []reply{{
			"enterprise_id": nil, "team_id": w.team, "user_id": w.bot, "is_bot": true, "is_enterprise_install": false,
		}},
	}}
}

// send delivers events one after the other, and each once more when the bot
// does not take it. What fails again waits for Redeliver.
func (w *Outbox) send(ctx context.Context, events ...delivery) error {
	var failures []error
	for _, p := range events {
		if w.faults.ofEvent() {
			w.holdBack(p)
			continue
		}
		failures = append(failures, w.try(ctx, p))
		for _, earlier := range w.heldBack() {
			failures = append(failures, w.try(ctx, earlier))
		}
	}
	return errors.Join(failures...)
}

func (w *Outbox) try(ctx context.Context, p delivery) error {
	a, err := w.transport.deliver(ctx, p)
	waits := retryAfter()
	if err == nil || a.noRetry || p.retry >= len(waits) || ctx.Err() != nil {
		return err
	}
	var failure *deliveryError
	if errors.As(err, &failure) {
		p.reason = failure.reason
	}
	wait := waits[p.retry]
	p.retry++
	if wait == 0 {
		return w.try(ctx, p)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.late = append(w.late, &lateEvent{delivery: p, due: w.cfg.Patience().Add(wait)})
	return err
}

// NextRedelivery says when the next event that the bot did not take is due.
func (w *Outbox) NextRedelivery() (time.Time, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	var next time.Time
	for _, e := range w.late {
		if next.IsZero() || e.due.Before(next) {
			next = e.due
		}
	}
	return next, !next.IsZero()
}

// Redeliver tries every event again that is due. It returns the failures of
// this round.
func (w *Outbox) Redeliver(ctx context.Context) error {
	w.mu.Lock()
	now := w.cfg.Patience()
	due := w.takeLate(func(e *lateEvent) bool { return !e.due.After(now) })
	w.mu.Unlock()
	var failures []error
	for _, p := range due {
		failures = append(failures, w.try(ctx, p))
	}
	return errors.Join(failures...)
}

// lookForLate is how often KeepRedelivering looks, in real time.
const lookForLate = 500 * time.Millisecond

// KeepRedelivering tries events again whenever they are due, until ctx ends.
// A team that people use needs it; a rehearsal whose clock leaps calls
// Redeliver itself.
func (w *Outbox) KeepRedelivering(ctx context.Context) {
	look := time.NewTicker(lookForLate)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
		if due, waiting := w.NextRedelivery(); !waiting || due.After(w.cfg.Patience()) {
			continue
		}
		if err := w.Redeliver(ctx); err != nil {
			w.cfg.Logger.Debug("an event was not taken again", "error", err)
		}
	}
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
