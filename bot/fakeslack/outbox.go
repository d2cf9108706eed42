package fakeslack

import (
	"context"
	"errors"
	"slices"
	"time"
)

// retryAfter is when the platform tries an event again: at once, then a
// minute and five minutes later. Source: the Events API page.
var retryAfter = []time.Duration{0, time.Minute, 5 * time.Minute}

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
func (out *Outbox) event(inner reply, extShared bool) delivery {
	return delivery{kind: eventDelivery, payload: reply{
		"token": verificationToken, "type": "event_callback",
		"team_id": out.team, "api_app_id": out.app,
		"event": inner, "event_id": out.nextID("Ev"), "event_time": out.Now().Unix(),
		"is_ext_shared_channel": extShared,
		"authorizations": []reply{{
			"enterprise_id": nil, "team_id": out.team, "user_id": out.bot, "is_bot": true, "is_enterprise_install": false,
		}},
	}}
}

// send delivers events one after the other, and each once more when the bot
// does not take it. What fails again waits for Redeliver.
func (out *Outbox) send(ctx context.Context, events ...delivery) error {
	var failures []error
	for _, p := range events {
		if out.faults.ofEvent() {
			out.keep(&lateEvent{delivery: p, due: out.cfg.Patience().Add(heldBy), held: true})
			continue
		}
		failures = append(failures, out.try(ctx, p))
		for _, earlier := range out.takeLate(func(e *lateEvent) bool { return e.held }) {
			failures = append(failures, out.try(ctx, earlier))
		}
	}
	return errors.Join(failures...)
}

func (out *Outbox) try(ctx context.Context, p delivery) error {
	a, err := out.transport.deliver(ctx, p)
	if err == nil || a.noRetry || p.retry >= len(retryAfter) || ctx.Err() != nil {
		return err
	}
	var failure *deliveryError
	if errors.As(err, &failure) {
		p.reason = failure.reason
	}
	wait := retryAfter[p.retry]
	p.retry++
	if wait == 0 {
		return out.try(ctx, p)
	}
	out.keep(&lateEvent{delivery: p, due: out.cfg.Patience().Add(wait)})
	return err
}

// Redeliver tries every event again that is due. It returns the failures of
// this round.
func (out *Outbox) Redeliver(ctx context.Context) error {
	now := out.cfg.Patience()
	var failures []error
	for _, p := range out.takeLate(func(e *lateEvent) bool { return !e.due.After(now) }) {
		failures = append(failures, out.try(ctx, p))
	}
	return errors.Join(failures...)
}

// lookForLate is how often KeepRedelivering looks, in real time.
const lookForLate = 500 * time.Millisecond

// KeepRedelivering tries events again whenever they are due, until ctx ends.
// A team that people use needs it; a rehearsal whose clock leaps calls
// Redeliver itself.
func (out *Outbox) KeepRedelivering(ctx context.Context) {
	look := time.NewTicker(lookForLate)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
		if err := out.Redeliver(ctx); err != nil {
			out.cfg.Logger.Debug("an event was not taken again", "error", err)
		}
	}
}

func (out *Outbox) keep(e *lateEvent) {
	out.mu.Lock()
	defer out.mu.Unlock()
	out.late = append(out.late, e)
}

// takeLate takes out the late events that are wanted.
func (out *Outbox) takeLate(wanted func(*lateEvent) bool) []delivery {
	out.mu.Lock()
	defer out.mu.Unlock()
	var taken []delivery
	out.late = slices.DeleteFunc(out.late, func(e *lateEvent) bool {
		if !wanted(e) {
			return false
		}
		taken = append(taken, e.delivery)
		return true
	})
	return taken
}
