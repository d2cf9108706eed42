package flows

import (
	"slices"

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
		silent := 0
		for _, w := range slices.Backward(k.Past) {
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
	})
}
