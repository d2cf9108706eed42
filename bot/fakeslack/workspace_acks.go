package fakeslack

import (
	"strings"

	"soundings/bot/fakeslack/wire"
)

// An Ack is what the bot said in the acknowledgement of a form or a command:
// no Web API call, but a payload all the same.
type Ack struct {
	Kind string // "view_submission" or "command"
	Body any    // decoded JSON
}

// OnAck hands every acknowledgement that says something to see. It replaces
// the one given before; nil stops it. It is called with the workspace held, so
// see must not ask the workspace anything.
func (w *Team) OnAck(see func(Ack)) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.onAck = see
}

// acknowledged is called with mu held.
func (w *Team) acknowledged(kind string, body []byte) {
	if w.onAck == nil || strings.TrimSpace(string(body)) == "" {
		return
	}
	if decoded, err := wire.Decode(body); err == nil { // what is none is refused where it is applied
		w.onAck(Ack{Kind: kind, Body: decoded})
	}
}
