package flows

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
)

// box is a kickoff underway since Monday 1 March 2027 with two assumptions
// to test first (A2 before A1), one to rely on (A3) and one to leave (A4).
func box() Kickoff {
	score := func(id string, z engine.Zone) engine.AssumptionScore {
		return engine.AssumptionScore{ID: id, Zone: z}
	}
	return Kickoff{
		Started: time.Date(2027, 2, 20, 9, 0, 0, 0, time.UTC),
		Stage:   StageUnderway,
		Leads:   []UserID{"ana"},
		People:  []Person{{ID: "ana", Name: "Ana", Zone: "Europe/Lisbon"}, {ID: "tui", Name: "Tui", Zone: "Pacific/Auckland"}, {ID: "kofi", Name: "Kofi"}},
		Roles:   Roles{Self: map[UserID]Ring{"ana": Core, "tui": Consulted}, Days: map[UserID]float64{"ana": 2.5}},
		Rounds: []Round{{N: 1, IDs: []string{"A1", "A2", "A3", "A4"}, Result: &engine.Result{
			Assumptions: []engine.AssumptionScore{score("A1", engine.TestFirst), score("A2", engine.TestFirst), score("A3", engine.RelyOn), score("A4", engine.Leave)},
			Cut:         engine.Cut{Importance: 6, Evidence: 4},
			Order:       []string{"A2", "A1", "A3", "A4"},
		}}},
		Backlog: Backlog{Tests: []Test{
			{N: 1, Assumption: "A1", Method: "Survey", EffortDays: 2, Owner: "tui", PassShare: 0.6},
			{N: 2, Assumption: "A2", Method: "Interviews", EffortDays: 5, LeadDays: 1, PassShare: 0.5},
			{N: 3, Assumption: "A2", Method: "Withdrawn", EffortDays: 50, Owner: "kofi", Withdrawn: true},
			{N: 4, Assumption: "A3", Method: "Spike", EffortDays: 1, Owner: "gone", PassShare: 0.5},
		}},
		Timebox: Timebox{Weeks: 4, Starts: time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC), Ends: time.Date(2027, 3, 29, 16, 0, 0, 0, time.UTC)},
	}
}

func TestScheduleKeepsTestOrderAndOwners(t *testing.T) {
	k := box()
	got := k.Schedule()
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
	want := []engine.Capacity{{ID: "ana", Days: 2.5}, {ID: "tui", Days: DefaultDays}}
	assert.Equal(t, want, capacityOf(&k), "capacity")
}

func TestProposalFollowsThePlan(t *testing.T) {
	k := box()
	got := proposalFor(&k)
	assert.Equal(t, 3, got.Weeks, "proposal = %+v, want 3 weeks and why", got)
	assert.NotEqual(t, "", got.Why, "proposal = %+v, want 3 weeks and why", got)
	k.Backlog.Tests = nil
	got = proposalFor(&k)
	assert.Equal(t, got.Band[1], got.Weeks, "without tests the proposal is %+v, want the most of its band", got)
	k.Rounds = nil
	got = proposalFor(&k)
	assert.GreaterOrEqual(t, got.Weeks, 1, "without a map the proposal is %+v, want a short box", got)
	assert.LessOrEqual(t, got.Weeks, 3, "without a map the proposal is %+v, want a short box", got)
}

func withResults(k Kickoff, results ...TestResult) Kickoff {
	n := len(k.Underway.Checkins) + 1
	k.Underway.Checkins = append(k.Underway.Checkins, Checkin{N: n, Closed: time.Date(2027, 3, 3+7*n, 9, 0, 0, 0, time.UTC), Results: results})
	return k
}

func TestCalibrationCountsByTheKickoffsZones(t *testing.T) {
	k := withResults(box(), TestResult{Test: 1, K: 2, N: 40}, TestResult{Test: 4, K: 9, N: 10})
	got := k.Calibration()
	assert.Equal(t, (engine.Tally{Rated: 2, Tested: 1, Fell: 1}), got.TestFirst, "test-first")
	assert.Equal(t, (engine.Tally{Rated: 2, Tested: 1, Held: 1}), got.WellEvidenced, "well evidenced")
}

func TestVerdictOfSeveralTests(t *testing.T) {
	k := box()
	k.Backlog.Tests = append(k.Backlog.Tests, Test{N: 5, Assumption: "A1", Method: "Trial", PassShare: 0.5})
	for _, test := range []struct {
		rule  string
		found []TestResult
		want  engine.Verdict
	}{
		{"no result, no verdict", nil, ""},
		{"one test that refutes is enough", []TestResult{{Test: 1, K: 40, N: 40}, {Test: 5, K: 2, N: 40}}, engine.Refuted},
		{"support wins over what is not clear", []TestResult{{Test: 1, K: 5, N: 10}, {Test: 5, K: 9, N: 10}}, engine.Supported},
		{"not clear is a verdict too", []TestResult{{Test: 1, K: 5, N: 10}}, engine.NotClear},
	} {
		tested := withResults(k, test.found...)
		assert.Equal(t, test.want, tested.VerdictOf("A1"), test.rule)
	}
}

func TestFindingNeedsAResultAndATest(t *testing.T) {
	k := withResults(box(), TestResult{Test: 1, K: 9, N: 12}, TestResult{Test: 3, K: 1, N: 1})
	f, ok := findingOf(&k, 1)
	assert.True(t, ok, "finding of test 1 = %+v, %v, want supported at 0.6", f, ok)
	assert.Equal(t, engine.Supported, f.Verdict, "finding of test 1 = %+v, %v, want supported at 0.6", f, ok)
	assert.True(t, f.Mark == 0.6, "finding of test 1 = %+v, %v, want supported at 0.6", f, ok)
	for _, n := range []int{2, 3, 9} { // not reported, withdrawn, not there
		f, ok := findingOf(&k, n)
		assert.False(t, ok, "finding of test %d = %+v, want none", n, f)
	}
}

func TestProgress(t *testing.T) {
	now := time.Date(2027, 3, 26, 23, 30, 0, 0, time.UTC)
	k := box()
	got := k.Progress(now)
	assert.Equal(t, 2, got.TestFirst, "at the start: %+v", got)
	assert.Equal(t, 0, got.Tested, "at the start: %+v", got)
	assert.Equal(t, 3, got.DaysLeft, "at the start: %+v", got)
	assert.False(t, got.Over, "at the start: %+v", got)
	assert.False(t, got.Confidence.Defined(), "at the start: %+v", got)
	k = withResults(k, TestResult{Test: 2, K: 1, N: 9})
	k.Underway.Checkins[0].Confidence = map[UserID]int{"ana": 3, "tui": 6}
	k.Underway.Checkins = append(k.Underway.Checkins, Checkin{N: 2, Confidence: map[UserID]int{"ana": 9}})
	got = k.Progress(now)
	assert.True(t, got.Share() == 0.5, "while check-in 2 is open and its votes unseen: %+v, share", got)
	assert.True(t, got.Confidence == 4.5, "while check-in 2 is open and its votes unseen: %+v, share", got)
	assert.Equal(t, 2, got.Voters, "while check-in 2 is open and its votes unseen: %+v, share", got)
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
		got := k.Progress(test.now)
		assert.Equal(t, test.days, got.DaysLeft, "%s: %d days, over", test.rule, got.DaysLeft)
		assert.Equal(t, test.over, got.Over, "%s: %d days, over", test.rule, got.DaysLeft)
	}
}

func TestShareOfNothingIsUndefined(t *testing.T) {
	s := (Progress{}).Share()
	assert.True(t, math.IsNaN(float64(s)), "share of no test-first assumptions = %v, want undefined", s)
}
