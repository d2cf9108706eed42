package flows

import (
	"math"
	"slices"
	"testing"
	"time"

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
	if !slices.Equal(tests, want) {
		t.Errorf("tests = %+v, want %+v", tests, want)
	}
	if got.TestFirst != 2 || len(got.Missing) != 0 {
		t.Errorf("%d to test first, missing %v, want 2 and none", got.TestFirst, got.Missing)
	}
	// Ana begins A2 after a day of waiting and needs 5 person-days at half
	// speed: day 1 to 11, in week 3. Tui, not core, gives the usual two days.
	if got.FirstAll != 3 {
		t.Errorf("all have a result in week %d, want 3", got.FirstAll)
	}
}

func TestScheduleCountsOnOwnersOutsideTheCore(t *testing.T) {
	k := box()
	want := []engine.Capacity{{ID: "ana", Days: 2.5}, {ID: "tui", Days: DefaultDays}}
	if got := capacityOf(&k); !slices.Equal(got, want) {
		t.Errorf("capacity = %+v, want %+v", got, want)
	}
}

func TestProposalFollowsThePlan(t *testing.T) {
	k := box()
	if got := proposalFor(&k); got.Weeks != 3 || got.Why == "" {
		t.Errorf("proposal = %+v, want 3 weeks and why", got)
	}
	k.Backlog.Tests = nil
	if got := proposalFor(&k); got.Weeks != got.Band[1] {
		t.Errorf("without tests the proposal is %+v, want the most of its band", got)
	}
	k.Rounds = nil
	if got := proposalFor(&k); got.Weeks < 1 || got.Weeks > 3 {
		t.Errorf("without a map the proposal is %+v, want a short box", got)
	}
}

func withResults(k Kickoff, results ...TestResult) Kickoff {
	n := len(k.Underway.Checkins) + 1
	k.Underway.Checkins = append(k.Underway.Checkins, Checkin{N: n, Closed: time.Date(2027, 3, 3+7*n, 9, 0, 0, 0, time.UTC), Results: results})
	return k
}

func TestCalibrationCountsByTheKickoffsZones(t *testing.T) {
	k := withResults(box(), TestResult{Test: 1, K: 2, N: 40}, TestResult{Test: 4, K: 9, N: 10})
	got := k.Calibration()
	if want := (engine.Tally{Rated: 2, Tested: 1, Fell: 1}); got.TestFirst != want {
		t.Errorf("test-first = %+v, want %+v", got.TestFirst, want)
	}
	if want := (engine.Tally{Rated: 2, Tested: 1, Held: 1}); got.WellEvidenced != want {
		t.Errorf("well evidenced = %+v, want %+v", got.WellEvidenced, want)
	}
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
		if got := tested.VerdictOf("A1"); got != test.want {
			t.Errorf("%s: got %q, want %q", test.rule, got, test.want)
		}
	}
}

func TestFindingNeedsAResultAndATest(t *testing.T) {
	k := withResults(box(), TestResult{Test: 1, K: 9, N: 12}, TestResult{Test: 3, K: 1, N: 1})
	if f, ok := findingOf(&k, 1); !ok || f.Verdict != engine.Supported || f.Mark != 0.6 {
		t.Errorf("finding of test 1 = %+v, %v, want supported at 0.6", f, ok)
	}
	for _, n := range []int{2, 3, 9} { // not reported, withdrawn, not there
		if f, ok := findingOf(&k, n); ok {
			t.Errorf("finding of test %d = %+v, want none", n, f)
		}
	}
}

func TestProgress(t *testing.T) {
	now := time.Date(2027, 3, 26, 23, 30, 0, 0, time.UTC)
	k := box()
	got := k.Progress(now)
	if got.TestFirst != 2 || got.Tested != 0 || got.DaysLeft != 3 || got.Over || got.Confidence.Defined() {
		t.Errorf("at the start: %+v", got)
	}
	k = withResults(k, TestResult{Test: 2, K: 1, N: 9})
	k.Underway.Checkins[0].Confidence = map[UserID]int{"ana": 3, "tui": 6}
	k.Underway.Checkins = append(k.Underway.Checkins, Checkin{N: 2, Confidence: map[UserID]int{"ana": 9}})
	got = k.Progress(now)
	if got.Share() != 0.5 || got.Confidence != 4.5 || got.Voters != 2 || got.Checkin != 2 {
		t.Errorf("while check-in 2 is open and its votes unseen: %+v, share %v", got, got.Share())
	}
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
		if got := k.Progress(test.now); got.DaysLeft != test.days || got.Over != test.over {
			t.Errorf("%s: %d days, over %v, want %d, %v", test.rule, got.DaysLeft, got.Over, test.days, test.over)
		}
	}
}

func TestShareOfNothingIsUndefined(t *testing.T) {
	if s := (Progress{}).Share(); !math.IsNaN(float64(s)) {
		t.Errorf("share of no test-first assumptions = %v, want undefined", s)
	}
}
