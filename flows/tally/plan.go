package tally

import (
	"math"

	"soundings/engine"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// Proposal is how many weeks the bot proposes, and why. Without a map there
// is nothing to be tested first, and a short box will do.
func Proposal(k *state.Kickoff, outlook *state.Outlook) engine.Proposal {
	cut := engine.Cut{Importance: engine.Undefined(), Evidence: engine.Undefined()}
	if m := k.Map(); m != nil {
		cut = m.Cut
	}
	if outlook == nil {
		return engine.ProposeWeeks(Schedule(k), cut)
	}
	worth := outlook.Worth
	if outlook.WorthThird > 0 {
		worth = engine.Figure(3*outlook.WorthThird - 1) // the middle of that third
	}
	return engine.ProposeWeeksWith(Schedule(k), cut, engine.Outlook{Worth: worth, Cost: outlook.Cost})
}

// Schedule lays the tests of the backlog, as it was before the time box began, in test
// order, on the days that people can give. The tests of one assumption stay in the order
// in which they were added.
func Schedule(k *state.Kickoff) engine.Plan {
	return ScheduleOf(k, func(t state.Test) bool { return t.Since == 0 })
}

// ScheduleOf plans some of the tests, in test order.
func ScheduleOf(k *state.Kickoff, which func(state.Test) bool) engine.Plan {
	var tests []engine.PlanTest
	for _, id := range k.Order() {
		for _, t := range lists.Keep(k.TestsOf(id), which) {
			tests = append(tests, engine.PlanTest{Assumption: id, Effort: t.EffortDays, Lead: t.LeadDays, Owner: string(state.DoerOf(k, t))})
		}
	}
	return engine.MakePlan(k.InZone(engine.TestFirst), tests, state.CapacityOf(k))
}

// ProposedWeeks is what stands when the lead sets nothing: the median of the
// votes, a half rounded down since a box can be renewed, or without votes, or
// with so few that their median is not told, the bot's proposal.
func ProposedWeeks(k *state.Kickoff) int {
	if m, _ := k.Timebox.Spread(); m.Defined() {
		return max(1, int(math.Floor(float64(m))))
	}
	return max(1, k.Timebox.Proposal.Weeks)
}
