package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"sync"

	"soundings/bot/rehearsal"
)

// A tracer keeps Web API calls as lines of JSON.
type tracer struct {
	mu  sync.Mutex
	out bytes.Buffer
}

// add notes a call. Calls come from the goroutines of a server, one at a time
// as of now; the lock costs nothing.
func (t *tracer) add(call rehearsal.Call) {
	t.mu.Lock()
	defer t.mu.Unlock()
	e := json.NewEncoder(&t.out)
	e.SetEscapeHTML(false)
	if err := e.Encode(call); err != nil {
		panic(fmt.Sprintf("trace %s: %v", call.Method, err)) // it was decoded from JSON
	}
}

// lines are all calls so far.
func (t *tracer) lines() []byte {
	t.mu.Lock()
	defer t.mu.Unlock()
	return bytes.Clone(t.out.Bytes())
}
