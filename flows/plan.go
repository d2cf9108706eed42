package flows

import (
	"slices"

	"soundings/engine"
)

// This file asks the engine what the backlog comes to: when the tests are
// done, how long the time box should be, and in the end how well the group
// had guessed.

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

// findingOf lays the last result of a test against its pass mark; false when
// none was reported.
func findingOf(k *Kickoff, test int) (engine.Finding, bool) {
	t, stands := k.Test(test)
	r, reported := k.Underway.ResultOf(test)
	if !stands || !reported {
		return engine.Finding{}, false
	}
	return engine.Judge(r.K, r.N, t.PassShare), true
}

// Calibration lays the ratings of the kickoff beside what the tests found.
// The zones are those of the kickoff's map, whatever was learnt since.
func (k *Kickoff) Calibration() engine.Calibration {
	return engine.Calibrate(outcomesOf(k))
}

func outcomesOf(k *Kickoff) []engine.Outcome {
	m := k.Map()
	if m == nil {
		return nil
	}
	rows := make([]engine.Outcome, len(m.Assumptions))
	for i, a := range m.Assumptions {
		rows[i] = engine.Outcome{ID: a.ID, Zone: a.Zone, Verdict: k.VerdictOf(a.ID)}
	}
	return rows
}

// VerdictOf is what the tests of an assumption have found so far: it is
// refuted when any test refutes it, else supported when any supports it, else
// not clear yet. It is empty when no test has a result.
func (k *Kickoff) VerdictOf(id string) engine.Verdict {
	var found []engine.Verdict
	for _, t := range k.TestsOf(id) {
		if f, ok := findingOf(k, t.N); ok {
			found = append(found, f.Verdict)
		}
	}
	for _, v := range []engine.Verdict{engine.Refuted, engine.Supported, engine.NotClear} {
		if slices.Contains(found, v) {
			return v
		}
	}
	return ""
}
