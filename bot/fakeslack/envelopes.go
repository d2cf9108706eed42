package fakeslack

import (
	"context"
	"errors"
	"fmt"

	"soundings/bot/fakeslack/wire"
)

// deliver sends a delivery through one socket, or through another where that
// one has just ended.
func (s *sockets) deliver(ctx context.Context, p delivery) (answer, error) {
	ctx, cancel := context.WithTimeout(ctx, s.ackWithin)
	defer cancel()
	fate := s.faults.ofSocket()
	for {
		line := s.pick(ctx)
		if line == nil {
			return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: "no socket is open"}
		}
		a, err := s.through(ctx, line, p, fate)
		if !errors.Is(err, errNotSent) {
			return a, err
		}
		s.cut(line)
	}
}

// through sends a delivery through a socket that may be about to be dropped.
func (s *sockets) through(ctx context.Context, line *socket, p delivery, f fate) (answer, error) {
	if f == spared {
		return line.send(ctx, p, s.envelope(p))
	}
	if f == unheard {
		if _, err := line.send(ctx, p, s.envelope(p)); errors.Is(err, errNotSent) {
			return answer{}, err
		}
	}
	s.cut(line)
	return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: "the socket was dropped"}
}

// envelope wraps a delivery for a socket. Only events say which try they are.
func (s *sockets) envelope(p delivery) reply {
	n := s.number()
	out := reply{
		"envelope_id": fmt.Sprintf("%08x-0000-4000-8000-%012x", n, n), "payload": p.payload,
		"type": envelopeTypes[p.kind], "accepts_response_payload": acceptsPayload(p),
	}
	if p.kind == eventDelivery {
		out["retry_attempt"], out["retry_reason"] = p.retry, ""
		if p.retry > 0 {
			out["retry_reason"] = "timeout" // the one word that is in public records
		}
	}
	return out
}

// number counts up for tickets and envelopes.
func (s *sockets) number() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.numbers++
	return s.numbers
}

// envelopeTypes are the platform's words for what travels.
var envelopeTypes = map[deliveryKind]string{
	eventDelivery: "events_api", interactionDelivery: "interactive", commandDelivery: "slash_commands",
}

// acceptsPayload reports whether an acknowledgement may say something.
// The page's example says true for buttons too, while clients' records say
// false; a payload means nothing there either way.
func acceptsPayload(p delivery) bool {
	kind := wire.Str(p.payload, "type")
	return p.kind == commandDelivery || kind == "view_submission" || kind == "block_suggestion"
}

func disconnectFrame(reason string) reply {
	return reply{"type": "disconnect", "reason": reason, "debug_info": reply{"host": socketHost}}
}

// AwaitSockets waits until at least n sockets are open.
func (t *Team) AwaitSockets(ctx context.Context, n int) error {
	for {
		t.sockets.mu.Lock()
		open, changed := len(t.sockets.lines), t.sockets.changed
		t.sockets.mu.Unlock()
		if open >= n {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return fmt.Errorf("wait for %d sockets: %w", n, ctx.Err())
		}
	}
}

// Close ends what the team holds open. Nothing is delivered any more by
// socket; the Web API still answers.
func (t *Team) Close() { t.sockets.close() }
