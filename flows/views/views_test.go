package views

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/bot/zones"
	"soundings/engine"
	"soundings/flows"
	"soundings/flows/state"
)

// box is a kickoff underway since Monday 1 March 2027 with two assumptions
// to test first (A2 before A1), one that comes next (A3) and one for later (A4).
func box() state.Kickoff {
	score := func(id string, z engine.Zone) engine.AssumptionScore {
		return engine.AssumptionScore{ID: id, Zone: z, Known: z != engine.TestFirst}
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
	return flows.WithZones(k, new(zones.Cache))
}

func withResults(k state.Kickoff, results ...state.TestResult) state.Kickoff {
	n := len(k.Underway.Checkins) + 1
	k.Underway.Checkins = append(k.Underway.Checkins, state.Checkin{N: n, Closed: time.Date(2027, 3, 3+7*n, 9, 0, 0, 0, time.UTC), Results: results})
	return k
}

func TestCalibrationCountsByTheKickoffsZones(t *testing.T) {
	k := withResults(box(), state.TestResult{Test: 1, K: 2, N: 40}, state.TestResult{Test: 4, K: 9, N: 10})
	got := Calibration(k)
	assert.Equal(t, (engine.Tally{Rated: 2, Tested: 1, Fell: 1}), got.TestFirst, "test-first")
	assert.Equal(t, (engine.Tally{Rated: 2, Tested: 1, Held: 1}), got.WellEvidenced, "well evidenced")
}

func TestProgress(t *testing.T) {
	now := time.Date(2027, 3, 26, 23, 30, 0, 0, time.UTC)
	k := box()
	got := ProgressOf(k, now)
	assert.Equal(t, 2, got.TestFirst, "at the start: %+v", got)
	assert.Equal(t, 0, got.Tested, "at the start: %+v", got)
	assert.Equal(t, 3, got.DaysLeft, "at the start: %+v", got)
	assert.False(t, got.Over, "at the start: %+v", got)
	assert.Zero(t, got.Confidence.N, "at the start: %+v", got)
	k = withResults(k, state.TestResult{Test: 2, K: 1, N: 9})
	k.Underway.Checkins[0].Confidence = map[state.UserID]int{"ana": 3, "tui": 6, "kofi": 3, "ines": 6}
	k.Underway.Checkins = append(k.Underway.Checkins, state.Checkin{N: 2, Confidence: map[state.UserID]int{"ana": 9}})
	got = ProgressOf(k, now)
	assert.Equal(t, got.TestFirst, 2*got.Tested, "while check-in 2 is open and its votes unseen: %+v", got)
	assert.True(t, got.Confidence.Median == 4.5, "while check-in 2 is open and its votes unseen: %+v, share", got)
	assert.Equal(t, 4, got.Confidence.N, "while check-in 2 is open and its votes unseen: %+v, share", got)
	assert.Equal(t, 2, got.Checkin, "while check-in 2 is open and its votes unseen: %+v, share", got)
}

func TestDaysLeftCountsTheLeadsDates(t *testing.T) {
	for _, test := range []struct {
		rule string
		now  time.Time
		days int
		over bool
	}{
		{"the last day counts as none left", time.Date(2027, 3, 29, 8, 0, 0, 0, time.UTC), 0, false},
		{"clocks that change over a weekend do not lose a day", time.Date(2027, 3, 27, 12, 0, 0, 0, time.UTC), 2, false},
		{"at the end the box is over", time.Date(2027, 3, 29, 16, 0, 0, 0, time.UTC), 0, true},
		{"days do not go below none", time.Date(2027, 5, 1, 0, 0, 0, 0, time.UTC), 0, true},
	} {
		k := box()
		got := ProgressOf(k, test.now)
		assert.Equal(t, test.days, got.DaysLeft, "%s: %d days, over", test.rule, got.DaysLeft)
		assert.Equal(t, test.over, got.Over, "%s: %d days, over", test.rule, got.DaysLeft)
	}
}
