package event

import (
	"time"

	"soundings/flows/state"
)

// KindVoted is one person's view of what kind of risk an assumption is.
type KindVoted struct {
	Assumption string
	Kind       state.Kind
}

func (e KindVoted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	votes := k.Backlog.Kinds[e.Assumption]
	state.Put(k, &votes, by, e.Kind)
	state.Put(k, &k.Backlog.Kinds, e.Assumption, votes)
}

// TestAdded adds a test under its number.
type TestAdded struct {
	N int
	state.Plan
	Since int `json:",omitempty"` // as in state.Test
}

func (e TestAdded) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	t := e.Plan.Test(e.N, by)
	t.Since = e.Since
	state.Add(k, &k.Backlog.Tests, t)
}

// TestEdited changes a test.
type TestEdited struct {
	N int
	state.Plan
}

func (e TestEdited) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	t := &state.Own(k, &k.Backlog.Tests)[e.N-1]
	since := t.Since
	*t = e.Plan.Test(e.N, t.By)
	t.Since = since
}

// TestDropped says why nobody will do a test.
type TestDropped struct {
	N   int
	Why string
}

func (e TestDropped) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	t := &state.Own(k, &k.Backlog.Tests)[e.N-1]
	t.Withdrawn, t.Dropped = true, e.Why
}

// TestWithdrawn takes a test off the backlog; its number is not used again.
type TestWithdrawn struct{ N int }

func (e TestWithdrawn) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Own(k, &k.Backlog.Tests)[e.N-1].Withdrawn = true
}
