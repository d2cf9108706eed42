package flows

import (
	"slices"

	"soundings/engine"
)

// This file asks the engine what the backlog comes to: when the tests are
// done, and how long the time box should be.

// proposalFor is how many weeks the bot proposes, and why. Without a map there
// is nothing to be tested first, and a short box will do.
func proposalFor(k *Kickoff) engine.Proposal {
	cut := engine.Cut{Importance: engine.Undefined(), Evidence: engine.Undefined()}
	if m := k.Map(); m != nil {
		cut = m.Cut
	}
	return engine.ProposeWeeks(k.Schedule(), cut)
}

// Schedule lays the tests of the backlog, in test order, on the days that
// people can give. The tests of one assumption stay in the order in which
// they were added.
func (k *Kickoff) Schedule() engine.Plan {
	var tests []engine.PlanTest
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			tests = append(tests, engine.PlanTest{Assumption: id, Effort: t.EffortDays, Lead: t.LeadDays, Owner: string(doerOf(k, t))})
		}
	}
	return engine.MakePlan(k.InZone(engine.TestFirst), tests, capacityOf(k))
}

// doerOf is the owner of a test. A test whose owner has left is anybody's: it
// still has to be done, and the plan should say when.
func doerOf(k *Kickoff, t Test) UserID {
	if k.Takes(t.Owner) {
		return t.Owner
	}
	return ""
}

// capacityOf is what the people who do tests can give: the core team, and who
// owns a test without being core.
func capacityOf(k *Kickoff) []engine.Capacity {
	doers := slices.DeleteFunc(k.InRing(Core), func(u UserID) bool { return !k.Takes(u) })
	for _, t := range k.Backlog.Tests {
		if owner := doerOf(k, t); !t.Withdrawn && owner != "" && !slices.Contains(doers, owner) {
			doers = append(doers, owner)
		}
	}
	team := make([]engine.Capacity, len(doers))
	for i, u := range doers {
		team[i] = engine.Capacity{ID: string(u), Days: k.DaysOf(u)}
	}
	return team
}
