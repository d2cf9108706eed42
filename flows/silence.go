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

// cameBack tells somebody once where things stand who answers something after a long silence.
func (b *reaction) cameBack(r event.Record) {
	at, answered := state.Stage(""), false
	for _, e := range r.Events {
		if answers(e) {
			at, answered = b.k.Stage, true
		}
		if f, finished := e.(event.FinishedStage); finished { // which may have closed with it
			at = f.Stage
		}
	}
	if !answered || !b.k.Takes(r.By) || b.k.IsLead(r.By) {
		return
	}
	earlier := lists.Keep(b.k.Past, func(w state.Window) bool { return w.Stage != at })
	if saidNothing(b.k, r.By, earlier) && !toldBack(b.k, r.By) {
		b.tell(ScreenStanding, cameBackTo+string(at), r.By)
	}
}

// answers reports that an event is somebody's answer to what was asked.
func answers(e event.Event) bool {
	switch e.(type) {
	case event.FinishedStage, event.QuestionAsked, event.WordingAdded, event.FramingVoted, event.PlacedSelf, event.AssumptionAdded,
		event.Rated, event.ReasonGiven, event.KindVoted, event.TestAdded, event.WeeksVoted, event.OutlookVoted, event.Foreseen,
		event.ActionDone, event.ResultReported, event.NewRated, event.EvidenceRerated, event.ConfidenceVoted, event.DecisionVoted:
		return true
	}
	return false
}

// toldBack reports that somebody was welcomed back before.
func toldBack(k *state.Kickoff, u state.UserID) bool {
	for name := range k.Posted {
		if s := ParseSlot(name); s.Screen == ScreenStanding && s.To == u && CameBack(s.Arg) {
			return true
		}
	}
	return false
}

// cameBackTo begins the arg of a standing for somebody who came back.
const cameBackTo = "back/"

// CameBack reports, by the arg of a standing, that it is for somebody who came back.
func CameBack(arg string) bool { return strings.HasPrefix(arg, cameBackTo) }
