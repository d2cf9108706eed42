package state

import (
	"time"

	"soundings/flows/lists"
)

// A Window is the time during which a stage, or a round of rating, takes
// answers.
type Window struct {
	Stage    Stage
	Round    int // of rating; 0 elsewhere
	Opened   time.Time
	Closes   time.Time // the planned fair close
	Asked    []UserID
	Done     map[UserID]time.Time // who has finished
	Choosing map[UserID]time.Time `json:",omitempty"` // of these, who may choose something more, and until when
	Answers  *Answers             `json:",omitempty"` // how many that were when it closed, where ballots are secret
	Phase    Phase
	Extended bool            // the extra day after a missed quorum was given
	Wishes   map[UserID]bool // leads who wish to close below quorum
	Closed   time.Time       // when it closed
	Why      CloseReason     // why it closed
	Thin     bool            // it closed below quorum
	Until    time.Time       // when settling ends by itself
}

// A Phase says what a window is waiting for.
type Phase string

// The phases of a window.
const (
	PhaseOpen     Phase = "open"     // for answers
	PhaseSettling Phase = "settling" // for the lead to settle the result
	PhaseClosed   Phase = "closed"   // for nothing
)

// A CloseReason says why a window closed.
type CloseReason string

// The reasons to close.
const (
	ClosedComplete CloseReason = "complete" // everyone asked has finished
	ClosedInTime   CloseReason = "in time"  // the window ended
	ClosedByLead   CloseReason = "by lead"
	ClosedSkipped  CloseReason = "skipped"

	ClosedAbandoned CloseReason = "abandoned" // the kickoff ended without a decision
)

// Quorum reports how many of those asked must be heard before a window may
// close by itself: half, rounded up.
func (w Window) Quorum() int { return (len(w.Asked) + 1) / 2 }

// Finished counts those asked who have finished.
func (w Window) Finished() int {
	if w.Answers != nil {
		return min(w.Answers.Finished, len(w.Asked))
	}
	return len(lists.Keep(w.Asked, func(u UserID) bool { return lists.Has(w.Done, u) }))
}

// Answers count who had answered in a window when it closed, where ballots are
// secret: with few answers, a list of names would stand beside what they said.
type Answers struct {
	Finished int
	Heard    int // gave something, and said or did not say that it was all
}
