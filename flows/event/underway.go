package event

import (
	"maps"
	"time"

	"soundings/engine"
	"soundings/flows/state"
)

// BoxStarted begins a time box; the kickoff is underway until it ends.
type BoxStarted struct {
	Weeks int
	Ends  time.Time
}

func (e BoxStarted) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	if k.Stage != state.StageUnderway {
		shelveWindow(k)
		k.Window = state.Window{Stage: state.StageUnderway, Opened: at, Phase: state.PhaseClosed}
		k.Stage = state.StageUnderway
		k.Timebox.Starts = at
	} else {
		state.Add(k, &k.Timebox.Renewals, e.Weeks)
	}
	k.Timebox.Ends = e.Ends
}

// CheckinOpened asks the owners how their tests went and the core team what
// they now think.
type CheckinOpened struct {
	N      int
	Closes time.Time
}

func (e CheckinOpened) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	state.Add(k, &k.Underway.Checkins, state.Checkin{N: e.N, Opened: at, Closes: e.Closes})
}

// EvidenceRerated is one person's new view of some evidence.
type EvidenceRerated struct{ Evidence map[string]int }

func (e EvidenceRerated) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	c := state.OwnCheckin(k)
	rated := c.Evidence[by]
	maps.Copy(state.OwnMap(k, &rated), e.Evidence)
	state.Put(k, &c.Evidence, by, rated)
}

// NewRated is one person's rating of what came after the map was made.
type NewRated struct{ Ratings map[string]state.Marking }

func (e NewRated) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	c := state.OwnCheckin(k)
	rated := c.Rated[by]
	maps.Copy(state.OwnMap(k, &rated), e.Ratings)
	state.Put(k, &c.Rated, by, rated)
}

// ConfidenceVoted is one person's overall confidence; the last one counts.
type ConfidenceVoted struct{ Confidence int }

func (e ConfidenceVoted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &state.OwnCheckin(k).Confidence, by, e.Confidence)
}

// CheckinClosed ends a check-in and says what moved on the map.
type CheckinClosed struct {
	N       int
	Moved   []state.Move             `json:",omitempty"`
	Placed  []engine.AssumptionScore `json:",omitempty"`
	Counted *state.CheckinConfidence `json:",omitempty"`
}

func (e CheckinClosed) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	c := &state.Own(k, &k.Underway.Checkins)[e.N-1]
	c.Closed, c.Moved, c.Placed, c.Counted = at, e.Moved, e.Placed, e.Counted
}
