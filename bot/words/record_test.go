package words

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	known "soundings/bot/zones"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// ended is a kickoff of three beliefs that come first: one fell, one is so far
// open, one has no test.
func ended() state.Kickoff {
	score := func(id string) engine.AssumptionScore { return engine.AssumptionScore{ID: id, Zone: engine.TestFirst} }
	k := state.Kickoff{
		Leads:       []state.UserID{"ana"},
		People:      []state.Person{{ID: "ana", Zone: "UTC"}},
		Assumptions: []state.Assumption{{ID: "A1"}, {ID: "A2"}, {ID: "A3"}},
		Rounds: []state.Round{{N: 1, Result: &engine.Result{Order: []string{"A1", "A2", "A3"},
			Assumptions: []engine.AssumptionScore{score("A1"), score("A2"), score("A3")}}}},
		Backlog: state.Backlog{Tests: []state.Test{
			{N: 1, Assumption: "A1", PassShare: 0.5, Size: 9, EffortDays: 2},
			{N: 2, Assumption: "A2", PassShare: 0.5, Size: 100, EffortDays: 1.5},
			{N: 3, Assumption: "A2", PassShare: 0.5, EffortDays: 4},
		}},
		Timebox: state.Timebox{Ends: time.Date(2027, 3, 29, 16, 0, 0, 0, time.UTC)},
		Underway: state.Underway{Checkins: []state.Checkin{{N: 1, Results: []state.TestResult{
			{Test: 1, K: 1, N: 9, Rule: state.ByPlan, Entry: 1}, {Test: 2, K: 2, N: 3, Rule: state.ByPlan, Entry: 2}}}}},
	}
	return flows.WithZones(k, new(known.Cache))
}

func TestAhead(t *testing.T) {
	k := ended()
	at := time.Date(2027, 3, 20, 9, 0, 0, 0, time.UTC)
	for choice, want := range map[state.Choice][]string{
		state.Build:   {"Keep watching A2 and A3: they matter, and no test has settled them.", "Do not build on A1: it turned out not true."},
		state.Stop:    {"Stopping now saves 9 days of the time box, and 4 days of work on tests."},
		state.Another: {"The new time box must answer these: A2 and A3."},
		"":            nil,
	} {
		assert.Equal(t, want, Ahead(k, state.Decision{Set: choice, At: at}), choice)
	}
	k.Timebox.Ends = time.Time{}
	assert.Equal(t, []string{"Stopping now saves 4 days of work on tests."}, Ahead(k, state.Decision{Set: state.Stop, At: at}))
}

func TestCameTo(t *testing.T) {
	k := ended()
	k.Backlog.Tests[2].Dropped = "No time."
	assert.Equal(t, "2 of 3 so far, 100 planned, pass mark 50%: no verdict yet.", CameTo(k, k.Backlog.Tests[1]))
	assert.Equal(t, "Dropped.", CameTo(k, k.Backlog.Tests[2]))
	k.Backlog.Tests[2].Dropped = ""
	assert.Equal(t, "No result.", CameTo(k, k.Backlog.Tests[2]))
	k.Backlog.Tests[0].PassShare, k.Backlog.Tests[0].Size, k.Backlog.Tests[0].YesNo = 0, 0, true
	k.Underway.Checkins[0].Results[0] = state.TestResult{Test: 1, K: 1, N: 1, Rule: state.ByPlan, Entry: 1}
	assert.Equal(t, "Yes; a yes counts as support: turned out true.", CameTo(k, k.Backlog.Tests[0]))
}

func TestCostText(t *testing.T) {
	k := ended()
	assert.Equal(t, "The tests were planned to take 7.5 days of work; those with a result were 3.5 of it.", CostText(k))
	k.Backlog.Tests = k.Backlog.Tests[:2]
	assert.Equal(t, "The tests took 3.5 days of work, as they were planned.", CostText(k))
	k.Underway.Checkins = nil
	assert.Equal(t, "The tests were planned to take 3.5 days of work; none has a result.", CostText(k))
	k.Backlog.Tests = nil
	assert.Empty(t, CostText(k))
}

func TestRingsTally(t *testing.T) {
	build, stop := state.DecisionVote{Choice: state.Build}, state.DecisionVote{Choice: state.Stop}
	d := state.Decision{Counted: &state.DecisionTally{
		Votes: []state.ChoiceCount{{DecisionVote: build, N: 7}, {DecisionVote: stop, N: 2}},
		Core:  []state.ChoiceCount{{DecisionVote: build, N: 3}, {DecisionVote: stop, N: 2}}}}
	assert.Equal(t, " The core team: 3 for build, 2 for stop. The others: 4 for build.", RingsTally(d))
	d.Counted.Core = nil
	assert.Empty(t, RingsTally(d))
	assert.Empty(t, RingsTally(state.Decision{}))
}
