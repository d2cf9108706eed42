package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"sync"

	"soundings/bot/fakeslack"
)

// A tracer keeps Web API calls as lines of JSON.
type tracer struct {
	// hide is the address of the workspace, which is another one in each run.
	// It is left out, so that two runs can be compared.
	hide func() string

	mu  sync.Mutex
	out bytes.Buffer
}

// add notes a call. Calls come from the goroutines of a server, one at a time
// as of now; the lock costs nothing.
func (t *tracer) add(call fakeslack.Call) {
	if call.Method == fakeslack.ResponseURL {
		return // an answer to a press is no Web API call
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	var line bytes.Buffer
	e := json.NewEncoder(&line)
	e.SetEscapeHTML(false)
	if err := e.Encode(call); err != nil {
		panic(fmt.Sprintf("trace %s: %v", call.Method, err)) // it was decoded from JSON
	}
	t.out.Write(bytes.ReplaceAll(line.Bytes(), []byte(t.hide()), []byte("http://workspace.example")))
}

// lines are all calls so far.
func (t *tracer) lines() []byte {
	t.mu.Lock()
	defer t.mu.Unlock()
	return bytes.Clone(t.out.Bytes())
}
