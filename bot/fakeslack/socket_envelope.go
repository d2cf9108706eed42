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
		line, err := s.pick(ctx)
		if err != nil {
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
func (s *sockets) through(ctx context.Context, line *socket, p delivery, fate drop) (answer, error) {
	if fate == dropNot {
		return line.send(ctx, p, s.envelope(p))
	}
	if fate == dropAfter {
		if _, err := line.send(ctx, p, s.envelope(p)); errors.Is(err, errNotSent) {
			return answer{}, err
		}
	}
	s.cut(line)
	return answer{}, &deliveryError{kind: p.kind, reason: "connection_failed", detail: "the socket was dropped"}
}

// envelope wraps a delivery for a socket. Only events say which try they are.
func (s *sockets) envelope(p delivery) reply {
	out := reply{
		"envelope_id": s.envelopeID(), "payload": p.payload,
		"type": envelopeType(p.kind), "accepts_response_payload": acceptsPayload(p),
	}
	if p.kind == eventDelivery {
		out["retry_attempt"], out["retry_reason"] = p.retry, ""
		if p.retry > 0 {
			out["retry_reason"] = "timeout" // the one word that is in public records
		}
	}
	return out
}

// envelopeID looks like the platform's, but is counted.
func (s *sockets) envelopeID() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.numbers++
	return fmt.Sprintf("%08x-0000-4000-8000-%012x", s.numbers, s.numbers)
}

func envelopeType(kind deliveryKind) string {
	switch kind {
	case interactionDelivery:
		return "interactive"
	case commandDelivery:
		return "slash_commands"
	}
	return "events_api"
}

// acceptsPayload reports whether an acknowledgement may say something.
// The page's example says true for buttons too, while clients' records say
// false; a payload means nothing there either way.
func acceptsPayload(p delivery) bool {
	switch p.kind {
	case commandDelivery:
		return true
	case interactionDelivery:
		kind := wire.Str(p.payload, "type")
		return kind == "view_submission" || kind == "block_suggestion"
	}
	return false
}

func disconnectFrame(reason string) reply {
	return reply{"type": "disconnect", "reason": reason, "debug_info": reply{"host": socketHost}}
}

// AwaitSockets waits until at least n sockets are open.
func (w *Team) AwaitSockets(ctx context.Context, n int) error {
	if err := w.sockets.await(ctx, n); err != nil {
		return fmt.Errorf("wait for %d sockets: %w", n, err)
	}
	return nil
}

// Close ends what the workspace holds open. Nothing is delivered any more by
// socket; the Web API still answers.
func (w *Team) Close() { w.sockets.close() }
