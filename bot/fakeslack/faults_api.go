package fakeslack

import (
	"context"
	"net/http"
	"strings"
	"time"
)

// withFaults lets a call meet the faults that are set.
func (api *webAPI) withFaults(serve http.HandlerFunc) http.HandlerFunc {
	return func(rw http.ResponseWriter, r *http.Request) {
		name := callName(r)
		if name == "apps.connections.open" {
			serve(rw, r)
			return
		}
		fate, wait := api.faults.ofCall(name, api.cfg.Patience())
		if fate != limited {
			api.pause(r.Context(), wait)
		}
		switch fate {
		case cutOff:
			api.traceFault(rw, r, name, 0, "connection_cut")
			panic(http.ErrAbortHandler) // ends the connection without an answer
		case failing:
			api.traceFault(rw, r, name, http.StatusServiceUnavailable, "service_unavailable")
			http.Error(rw, "the service is not available", http.StatusServiceUnavailable)
		case limited:
			api.traceFault(rw, r, name, http.StatusTooManyRequests, "ratelimited")
			rw.Header().Set("Retry-After", wholeSeconds(wait))
			writeJSON(rw, http.StatusTooManyRequests, reply{"ok": false, "error": "ratelimited"})
		case unheard:
			serve(&discard{header: http.Header{}}, r)
			panic(http.ErrAbortHandler)
		default:
			serve(rw, r)
		}
	}
}

// callName is the method that is called, or what stands for it.
func callName(r *http.Request) string {
	if name := r.PathValue("method"); name != "" {
		return name
	}
	if strings.HasPrefix(r.URL.Path, "/upload/") {
		return "upload"
	}
	return ResponseURL
}

// traceFault shows the hook a call of which nothing was done. What goes to
// an upload address is no call.
func (api *webAPI) traceFault(rw http.ResponseWriter, r *http.Request, name string, status int, code string) {
	if name == "upload" {
		return
	}
	a, err := readArgs(rw, r)
	if err != nil {
		return
	}
	api.calls.Lock()
	defer api.calls.Unlock()
	api.trace(name, a.values, status, reply{"ok": false, "error": code})
}

// pause lets time pass: the team's own where it is told how, else real
// time.
func (c *core) pause(ctx context.Context, d time.Duration) {
	switch {
	case d <= 0:
	case c.cfg.Pause != nil:
		c.cfg.Pause(d)
	default:
		rest := time.NewTimer(d)
		defer rest.Stop()
		select {
		case <-rest.C:
		case <-ctx.Done():
		}
	}
}

// discard takes an answer that is not to be sent.
type discard struct{ header http.Header }

func (d *discard) Header() http.Header         { return d.header }
func (d *discard) Write(b []byte) (int, error) { return len(b), nil }
func (d *discard) WriteHeader(int)             {}
