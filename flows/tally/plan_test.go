package tally

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot/zones"
	"soundings/engine"
	"soundings/flows/state"
)

// box is a kickoff underway since Monday 1 March 2027 with two assumptions
// to test first (A2 before A1), one that comes next (A3) and one for later (A4).
func box() state.Kickoff {
	score := func(id string, z engine.Zone) engine.AssumptionScore {
		return engine.AssumptionScore{ID: id, Zone: z}
	}
	k := state.Kickoff{
		Started: time.Date(2027, 2, 20, 9, 0, 0, 0, time.UTC),
		Stage:   state.StageUnderway,
		Leads:   []state.UserID{"ana"},
		People:  []state.Person{{ID: "ana", Name: "Ana", Zone: "Europe/Lisbon"}, {ID: "tui", Name: "Tui", Zone: "Pacific/Auckland"}, {ID: "kofi", Name: "Kofi"}},
		Roles:   state.Roles{Self: map[state.UserID]state.Ring{"ana": state.Core, "tui": state.Consulted}, Days: map[state.UserID]float64{"ana": 2.5}},
		Rounds: []state.Round{{N: 1, IDs: []string{"A1", "A2", "A3", "A4"}, Result: &engine.Result{
			Assumptions: []engine.AssumptionScore{score("A1", engine.TestFirst), score("A2", engine.TestFirst), score("A3", engine.Next), score("A4", engine.Later)},
			Cut:         engine.Cut{Importance: 6, Evidence: 4},
			Order:       []string{"A2", "A1", "A3", "A4"},
		}}},
		Backlog: state.Backlog{Tests: []state.Test{
			{N: 1, Assumption: "A1", Method: "Survey", EffortDays: 2, Owner: "tui", PassShare: 0.6},
			{N: 2, Assumption: "A2", Method: "Interviews", EffortDays: 5, LeadDays: 1, PassShare: 0.5},
			{N: 3, Assumption: "A2", Method: "Withdrawn", EffortDays: 50, Owner: "kofi", Withdrawn: true},
			{N: 4, Assumption: "A3", Method: "Spike", EffortDays: 1, Owner: "gone", PassShare: 0.5},
		}},
		Timebox: state.Timebox{Weeks: 4, Starts: time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC), Ends: time.Date(2027, 3, 29, 16, 0, 0, 0, time.UTC)},
	}
	state.SetZones(&k, new(zones.Cache))
	return k
}

func TestScheduleKeepsTestOrderAndOwners(t *testing.T) {
	k := box()
	got := Schedule(&k)
	want := []engine.PlanTest{
		{Assumption: "A2", Effort: 5, Lead: 1},
		{Assumption: "A1", Effort: 2, Owner: "tui"},
		{Assumption: "A3", Effort: 1}, // its owner takes no part: anybody's
	}
	var tests []engine.PlanTest
	for _, test := range got.Tests {
		tests = append(tests, test.PlanTest)
	}
	assert.Equal(t, want, tests, "tests")
	assert.Equal(t, 2, got.TestFirst, "to test first, missing")
	assert.Empty(t, got.Missing, "to test first, missing")
	// Ana begins A2 after a day of waiting and needs 5 person-days at half
	// speed: day 1 to 11, in week 3. Tui, not core, gives the usual two days.
	assert.Equal(t, 3, got.FirstAll, "all have a result in week")
}

func TestScheduleCountsOnOwnersOutsideTheCore(t *testing.T) {
	k := box()
	want := []engine.Capacity{{ID: "ana", Days: 2.5}, {ID: "tui", Days: state.DefaultDays}}
	assert.Equal(t, want, state.CapacityOf(&k), "capacity")
}

func TestProposalFollowsThePlan(t *testing.T) {
	k := box()
	got := Proposal(&k, nil)
	assert.Equal(t, 3, got.Weeks, "proposal = %+v, want 3 weeks and why", got)
	assert.NotEqual(t, "", got.Why, "proposal = %+v, want 3 weeks and why", got)
	k.Backlog.Tests = nil
	got = Proposal(&k, nil)
	assert.Equal(t, got.Band[1], got.Weeks, "without tests the proposal is %+v, want the most of its band", got)
	k.Rounds = nil
	got = Proposal(&k, nil)
	assert.GreaterOrEqual(t, got.Weeks, 1, "without a map the proposal is %+v, want a short box", got)
	assert.LessOrEqual(t, got.Weeks, 3, "without a map the proposal is %+v, want a short box", got)
}

// People decided upon the zones that they saw, so on a map that says no rule a
// new rating moves by the cuts at the medians, as it did then.
func TestEarlierMapsMoveByTheirRule(t *testing.T) {
	of := func(ratings ...int) engine.Spread {
		var counts engine.Counts
		for _, r := range ratings {
			counts[r]++
		}
		return counts.Spread()
	}
	a := engine.AssumptionScore{ID: "A1", Importance: of(5, 5, 5), Evidence: of(2, 2, 2), Zone: engine.TestFirst}
	b := engine.AssumptionScore{ID: "A2", Importance: of(5, 5, 5), Evidence: of(3, 3, 3), Zone: engine.RelyOn}
	r := state.Round{Result: &engine.Result{Assumptions: []engine.AssumptionScore{a, b}, Cut: engine.Cut{Importance: 5, Evidence: 2.5}}}
	assert.Equal(t, engine.RelyOn, state.ZoneWith(&r, a, of(3, 3, 3)))
	r.Rule = state.ByLean
	assert.Equal(t, engine.TestFirst, state.ZoneWith(&r, a, of(3, 3, 3)), "evidence below 3.5 is little by today's rule")
	assert.Equal(t, engine.Next, state.ZoneWith(&r, a, of(7, 7, 7)))
}
