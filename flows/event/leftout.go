package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// StagesLeftOut says which stages are passed over from now on, all of them: one that
// was among them before and is not any more is taken up again.
type StagesLeftOut struct {
	Stages []state.Stage `json:",omitempty"`
}

func (e StagesLeftOut) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.LeftOut = nil // none and an empty list are one in the journal, so in the state too
	if len(e.Stages) > 0 {
		k.LeftOut = slices.Clone(e.Stages)
	}
}

// leaveOut adds a stage to those that are passed over.
func leaveOut(k *state.Kickoff, s state.Stage) {
	if !slices.Contains(k.LeftOut, s) {
		k.LeftOut = append(slices.Clone(k.LeftOut), s)
	}
}

// takeUp takes a stage out of those that are passed over: it opens all the same, as
// that of assumptions does where there is no list.
func takeUp(k *state.Kickoff, s state.Stage) {
	if !slices.Contains(k.LeftOut, s) {
		return
	}
	k.LeftOut = slices.DeleteFunc(slices.Clone(k.LeftOut), func(out state.Stage) bool { return out == s })
	if len(k.LeftOut) == 0 {
		k.LeftOut = nil // as above
	}
}

// SummaryEnded ends a kickoff without a time box: its summary is all that it was to
// come to.
type SummaryEnded struct{}

func (SummaryEnded) Apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	shelveWindow(k)
	k.Stage = state.StageEnded
	k.Window = state.Window{Stage: state.StageEnded, Phase: state.PhaseClosed, Opened: at, Closed: at}
}
