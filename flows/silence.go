package flows

import (
	"slices"
	"strings"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// silentStages is how many stages somebody says nothing in before a lead is told (common practice, no source).
const silentStages = 2

// Silent lists who said nothing in the last two closed stages that asked them, nor yet
// in the open one. It is for leads alone. Stages with ballots do not count: once these
// are counted, nobody knows who answered.
func Silent(k *state.Kickoff) []state.UserID {
	if k.Stage == state.StageEnded || k.Stage == state.StageUnderway {
		return nil
	}
	owing := Owing(k)
	return lists.Keep(k.Participants(), func(u state.UserID) bool {
		if k.IsLead(u) || k.Window.Phase == state.PhaseOpen && slices.Contains(k.Window.Asked, u) && !slices.Contains(owing, u) {
			return false
		}
		return saidNothing(k, u, k.Past)
	})
}

// saidNothing reports that somebody gave nothing in the last stages of past that asked
// them.
func saidNothing(k *state.Kickoff, u state.UserID, past []state.Window) bool {
	silent := 0
	for _, w := range slices.Backward(past) {
		switch {
		case event.IsBoxed(w.Stage) || w.Why == state.ClosedSkipped || !slices.Contains(w.Asked, u):
			continue
		case lists.Has(w.Done, u) || stageOf(w.Stage).given(k, u, w.Round):
			return false
		}
		if silent++; silent == silentStages {
			return true
		}
	}
	return false
}

// cameBack tells somebody where things stand who finishes a stage after a long silence.
// A ballot does not bring that about: a message to them would say that they voted.
func (b *reaction) cameBack(r event.Record) {
	for _, e := range r.Events {
		f, finished := e.(event.FinishedStage)
		if !finished || event.IsBoxed(f.Stage) || b.k.IsLead(r.By) {
			continue
		}
		earlier := lists.Keep(b.k.Past, func(w state.Window) bool { return w.Stage != f.Stage })
		if saidNothing(b.k, r.By, earlier) {
			b.tell(ScreenStanding, cameBackTo+string(f.Stage), r.By)
		}
	}
}

// cameBackTo begins the arg of a standing for somebody who came back.
const cameBackTo = "back/"

// CameBack reports, by the arg of a standing, that it is for somebody who came back.
func CameBack(arg string) bool { return strings.HasPrefix(arg, cameBackTo) }
