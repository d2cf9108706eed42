package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// ResultReported is what a test showed.
type ResultReported struct {
	Test, K, N int
	Rule       state.Rule `json:",omitempty"`
	Entry      int        `json:",omitempty"` // without one, from an older release, it is the count so far
	Figure     float64    `json:",omitempty"`
	Corrects   int        `json:",omitempty"`
	Why        string     `json:",omitempty"`
}

func (e ResultReported) Result(by state.UserID) state.TestResult {
	return state.TestResult{Test: e.Test, K: e.K, N: e.N, By: by, Rule: e.Rule, Entry: e.Entry, Figure: e.Figure, Corrects: e.Corrects, Why: e.Why}
}

func (e ResultReported) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	c := state.OwnCheckin(k)
	if e.Entry == 0 {
		state.Remove(k, &c.Results, func(r state.TestResult) bool { return r.Test == e.Test })
	}
	state.Add(k, &c.Results, e.Result(by))
}

// ResultTold is what a report says in words.
type ResultTold struct {
	Entry int
	state.Told
}

func (e ResultTold) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	c := state.OwnCheckin(k)
	at := slices.IndexFunc(c.Results, func(r state.TestResult) bool { return r.Entry == e.Entry })
	state.Own(k, &c.Results)[at].Told = e.Told
}
