package fakeslack

import (
	"time"

	"soundings/bot/fakeslack/wire"
)

// ResponseURL stands for the method of a Call where the bot answers a press
// at the address that came with it. That is no Web API call, but is seen like
// one.
const ResponseURL = "response_url"

// A Call is one Web API call of the bot, or an answer to a press, and what
// came of it. The bytes of uploaded files are none.
type Call struct {
	At     time.Time      `json:"at"`
	Method string         `json:"method"`
	Args   map[string]any `json:"args"` // blocks, views and metadata decoded; never the token
	Status int            `json:"status"`
	OK     bool           `json:"ok"`
	Error  string         `json:"error,omitempty"`
}

// OnCall hands every call to see, in the order in which they took effect. It
// replaces the one given before; nil stops it. see may read the workspace but
// must not wait for the bot: the bot's calls wait for see.
func (w *Team) OnCall(see func(Call)) {
	w.api.calls.Lock()
	defer w.api.calls.Unlock()
	w.api.onCall = see
}

// trace is called with calls held.
func (w *webAPI) trace(name string, values map[string]any, status int, out reply) {
	code := wire.Str(out, "error")
	if code != "" {
		w.cfg.Logger.Debug("web api call refused", "method", name, "status", status, "error", code)
	}
	if w.onCall == nil {
		return
	}
	w.onCall(Call{At: w.Now(), Method: name, Args: values, Status: status, OK: wire.Flag(out, "ok"), Error: code})
}
