package engine

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Three to test first, a team of two. By hand:
//
//	A1  interviews  ana, 2 days a week: 4 days wait, then 2 person-days = 5
//	                working days, 4 to 9: week 2
//	A2  survey      bo, 2.5 a week: 2 person-days = 4 working days, 0 to 4: week 1
//	A2  pre-order   bo: 4 to 12, no first result any more
//	A3  prototype   whoever is free first for 1 person-day: ana takes 2.5 days
//	                and has 4 before A1: 0 to 2.5: week 1
//	A9  not test-first: no share of the plan
var (
	handTests = []PlanTest{
		{"A1", 2, 4, "ana"},
		{"A2", 2, 0, "bo"},
		{"A2", 4, 0, "bo"},
		{"A3", 1, 0, ""},
		{"A9", 1, 0, "bo"},
	}
	handTeam = []Capacity{{"ana", 2}, {"bo", 2.5}}
)

func TestMakePlanByHand(t *testing.T) {
	got := MakePlan([]string{"A1", "A2", "A3", "A2"}, handTests, handTeam)
	wantWeeks := []PlanWeek{{1, 2, 2.0 / 3}, {2, 3, 1}}
	assert.Equal(t, 3, got.TestFirst, "plan %+v, want all three in week 2, weeks", got)
	assert.Equal(t, 2, got.FirstAll, "plan %+v, want all three in week 2, weeks", got)
	assert.Empty(t, got.Missing, "plan %+v, want all three in week 2, weeks", got)
	assert.Equal(t, wantWeeks, got.Weeks, "plan %+v, want all three in week 2, weeks", got)
	for i, end := range []float64{9, 4, 12, 2.5, 14} {
		assert.True(t, float64(got.Tests[i].End) == end, "test %d ends at %v", i+1, got.Tests[i].End)
	}
}

func TestMakePlanRules(t *testing.T) {
	bo := []Capacity{{"bo", 5}}
	for _, row := range []struct {
		rule      string
		testFirst []string
		tests     []PlanTest
		team      []Capacity
		firstAll  int
		missing   string
		done      string // per week
	}{
		{"the end of a week belongs to it", []string{"A1"}, []PlanTest{{"A1", 5, 0, ""}}, bo, 1, "", "1"},
		{"a minute more is the next week", []string{"A1"}, []PlanTest{{"A1", 5.01, 0, ""}}, bo, 2, "", "0 1"},
		{"a sum of thirds ends its week", []string{"A1"},
			[]PlanTest{{"A0", 5.0 / 3, 0, ""}, {"A0", 5.0 / 3, 0, ""}, {"A1", 5.0 / 3, 0, ""}}, bo, 1, "", "1"},
		{"no effort, no waiting", []string{"A1"}, []PlanTest{{"A1", 0, 0, ""}}, bo, 1, "", "1"},
		{"the first of two tests counts", []string{"A1"}, []PlanTest{{"A1", 9, 0, ""}, {"A1", 1, 0, "bo"}}, bo, 2, "", "0 1"},
		{"an assumption without a test", []string{"A1", "A2"}, []PlanTest{{"A1", 1, 0, ""}}, bo, 0, "A2", "1"},
		{"a test that nobody can do", []string{"A1"}, []PlanTest{{"A1", 1, 0, "dee"}}, bo, 0, "A1", "0"},
		{"no capacity", []string{"A1"}, []PlanTest{{"A1", 1, 0, ""}}, []Capacity{{"bo", 0}}, 0, "A1", "0"},
		{"nobody", []string{"A1"}, []PlanTest{{"A1", 1, 0, ""}}, nil, 0, "A1", "0"},
		{"nothing to test first", nil, []PlanTest{{"A1", 1, 0, ""}}, bo, 0, "", ""},
	} {
		got := MakePlan(row.testFirst, row.tests, row.team)
		var done []string
		for _, w := range got.Weeks {
			done = append(done, fmt.Sprint(w.Done))
		}
		assert.Equal(t, row.firstAll, got.FirstAll, "%s: all in week %d, missing %v, done %v", row.rule, got.FirstAll, got.Missing, done)
		assert.Equal(t, row.missing, strings.Join(got.Missing, " "), "%s: all in week %d, missing %v, done %v", row.rule, got.FirstAll, got.Missing, done)
		assert.Equal(t, row.done, strings.Join(done, " "), "%s: all in week %d, missing %v, done %v", row.rule, got.FirstAll, got.Missing, done)
	}
}

func TestLongPlansAreShownForAYear(t *testing.T) {
	got := MakePlan([]string{"A1"}, []PlanTest{{"A1", 500, 0, ""}}, []Capacity{{"bo", 5}})
	assert.False(t, got.FirstAll != 100 || len(got.Weeks) != longestPlan || got.Weeks[longestPlan-1].Done != 0, "all in week %d, %d weeks shown; want 100 and %d", got.FirstAll, len(got.Weeks), longestPlan)
}

// More days of everyone never finish a plan of owned tests later.
func TestMoreDaysNeverFinishLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tests, team := drawTests(t), drawTeam(t)
		for i := range tests {
			tests[i].Lead = 0 // with gaps to fill, a shorter test may take another's place
			if tests[i].Owner == "" {
				tests[i].Owner = "ana"
			}
		}
		ids := []string{"A1", "A2", "A3", "A4"}
		before := MakePlan(ids, tests, team)
		for i := range team {
			team[i].Days += 1
		}
		after := MakePlan(ids, tests, team)
		require.False(t, before.FirstAll > 0 && (after.FirstAll == 0 || after.FirstAll > before.FirstAll), "week %d with more days, %d before", after.FirstAll, before.FirstAll)
	})
}

// Shares only grow, from week to week, and end at 1 when nothing is missing.
func TestPlanWeeksGrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := MakePlan([]string{"A1", "A2", "A3"}, drawTests(t), drawTeam(t))
		last := 0.0
		for i, w := range p.Weeks {
			require.Equal(t, i+1, w.Week, "weeks %+v", p.Weeks)
			require.False(t, w.Share < last, "weeks %+v", p.Weeks)
			require.True(t, w.Share == float64(w.Done)/3, "weeks %+v", p.Weeks)
			last = w.Share
		}
		require.Equal(t, (len(p.Missing) == 0), (p.FirstAll > 0), "all in week %d, missing %v, weeks %+v", p.FirstAll, p.Missing, p.Weeks)
		require.False(t, p.FirstAll > 0 && p.FirstAll <= longestPlan && (last != 1 || len(p.Weeks) != p.FirstAll), "all in week %d, missing %v, weeks %+v", p.FirstAll, p.Missing, p.Weeks)
	})
}

func TestBars(t *testing.T) {
	got := Bars(MakePlan([]string{"A1", "A2", "A3"}, handTests, handTeam))
	want := []string{
		"week 1: 2 of 3 ██████░░░░",
		"week 2: 3 of 3 ██████████",
	}
	assert.Equal(t, want, got, "bars\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	assert.Empty(t, Bars(Plan{}), "bars of no plan")
}

// One of many is a bar that has begun, all but one of many is not full.
func TestBarsAtTheirEnds(t *testing.T) {
	p := Plan{TestFirst: 40, Weeks: make([]PlanWeek, 10)}
	p.Weeks[0] = PlanWeek{1, 1, 1.0 / 40}
	p.Weeks[9] = PlanWeek{10, 39, 39.0 / 40}
	lines := Bars(p)
	assert.Equal(t, "week  1: 1 of 40 █░░░░░░░░░", lines[0])
	assert.Equal(t, "week 10: 39 of 40 █████████░", lines[9])
}

func TestPlanAsJSON(t *testing.T) {
	data, err := json.Marshal(MakePlan([]string{"A1"}, []PlanTest{{"A1", 1, 0, "dee"}}, nil))
	want := `{"tests":[{"assumption":"A1","effort":1,"lead":0,"owner":"dee","by":"","start":null,"end":null}],` +
		`"test_first":1,"weeks":[{"week":1,"done":0,"share":0}],"first_all":0,"missing":["A1"],"firsts":[{"assumption":"A1","week":0,"risk":1}],"effort":1,"per_week":0}`
	assert.NoError(t, err, "JSON %s", data)
	assert.Equal(t, want, string(data), "JSON %s", data)
}

func TestProposeWeeks(t *testing.T) {
	usual, good, risky := Cut{6, 4}, Cut{6, 7}, Cut{7, 3}
	unknown := Cut{Undefined(), Undefined()}
	finished := func(week, of int) Plan { return planOf(week, of) }
	for _, row := range []struct {
		rule    string
		plan    Plan
		cut     Cut
		weeks   int
		band    [2]int
		typical int
		why     string
	}{
		{"the week in which all have a result", finished(4, 3), usual, 4, [2]int{3, 5}, 4,
			"All 3 assumptions to test first have a first result by the end of week 4, if everyone gives the days they named."},
		{"one alone", finished(3, 1), usual, 3, [2]int{3, 5}, 4,
			"The one assumption to test first has a first result by the end of week 3, if everyone gives the days they named."},
		{"sooner than is usual", finished(1, 3), usual, 3, [2]int{3, 5}, 4,
			"All 3 assumptions to test first have a first result by the end of week 1. 3 weeks are the least that is usual for a map like this, which leaves time to act on what is found."},
		{"later than is usual", finished(9, 3), usual, 5, [2]int{3, 5}, 4,
			"5 weeks are the most that is usual for a map like this. By then none of the 3 assumptions to test first has a first result; the whole plan takes 9 weeks."},
		{"never", Plan{TestFirst: 2, Missing: []string{"A3"}}, usual, 5, [2]int{3, 5}, 4,
			"A3 has no test yet, or nobody who has days for it, so nobody can say when the plan ends. 5 weeks are the most that is usual for a map like this."},
		{"never, for many", Plan{TestFirst: 9, Missing: []string{"A3", "A4", "A5", "A6", "A8"}}, usual, 5, [2]int{3, 5}, 4,
			"A3, A4, A5 and 2 more assumptions have no test yet, or nobody who has days for it, so nobody can say when the plan ends. 5 weeks are the most that is usual for a map like this."},
		{"nothing to test first", Plan{}, risky, 2, [2]int{2, 3}, 2,
			"No assumption has to be tested first, so a short time box of 2 weeks will do."},
		{"good evidence", finished(4, 2), good, 3, [2]int{2, 3}, 2,
			"3 weeks are the most that is usual for little risk and good evidence. By then none of the 2 assumptions to test first has a first result; the whole plan takes 4 weeks."},
		{"high risk, little evidence", finished(3, 2), risky, 4, [2]int{4, 6}, 6,
			"All 2 assumptions to test first have a first result by the end of week 3. 4 weeks are the least that is usual for high risk and little evidence, which leaves time to act on what is found."},
		{"no ratings: the usual band", finished(4, 2), unknown, 4, [2]int{3, 5}, 4,
			"All 2 assumptions to test first have a first result by the end of week 4, if everyone gives the days they named."},
	} {
		t.Run(row.rule, func(t *testing.T) {
			want := Proposal{Weeks: row.weeks, Band: row.band, Typical: row.typical, Why: row.why}
			got := ProposeWeeks(row.plan, row.cut)
			assert.Equal(t, want, got, "got  %+v\nwant", got)
		})
	}
}

// planOf is a plan whose assumptions all have their first result in one week.
func planOf(week, of int) Plan {
	p := Plan{TestFirst: of, FirstAll: week, Weeks: make([]PlanWeek, week)}
	p.Weeks[week-1].Done = of
	return p
}

// Which way each of the two moves the weeks is the project's own rule (common
// practice, no source); the weeks are worked out by hand from the bands.
func TestProposeWeeksWithAnOutlook(t *testing.T) {
	usual, risky, good := Cut{6, 4}, Cut{7, 3}, Cut{6, 7}
	none := Undefined()
	for _, row := range []struct {
		rule    string
		plan    Plan
		cut     Cut
		outlook Outlook
		weeks   int
		band    [2]int
		decided string
	}{
		{"nobody said anything", planOf(9, 3), usual, Outlook{none, ""}, 5, [2]int{3, 5}, ""},
		{"the name at stake argues for more time", planOf(9, 3), usual, Outlook{none, CostName}, 6, [2]int{4, 6}, DecidedRisk},
		{"little confidence does too", planOf(9, 3), usual, Outlook{3.4, CostQuarter}, 6, [2]int{4, 6}, DecidedBelief},
		{"both together are one band", planOf(9, 3), usual, Outlook{2, CostName}, 6, [2]int{4, 6}, DecidedBoth},
		{"little to lose argues for less", planOf(9, 3), usual, Outlook{5, CostDay}, 3, [2]int{2, 3}, DecidedRisk},
		{"much confidence does too", planOf(9, 3), usual, Outlook{6.5, ""}, 3, [2]int{2, 3}, DecidedBelief},
		{"against each other they cancel out", planOf(9, 3), usual, Outlook{8, CostName}, 5, [2]int{3, 5}, DecidedMap},
		{"the middle of both changes nothing", planOf(9, 3), usual, Outlook{5, CostQuarter}, 5, [2]int{3, 5}, DecidedMap},
		{"a plan inside both bands decides", planOf(4, 3), usual, Outlook{2, CostName}, 4, [2]int{4, 6}, DecidedPlan},
		{"there is no longer band", planOf(9, 3), risky, Outlook{1, CostName}, 6, [2]int{4, 6}, DecidedMap},
		{"nor a shorter one", planOf(9, 3), good, Outlook{9, CostDay}, 3, [2]int{2, 3}, DecidedMap},
		{"with nothing to test first a short box will do", Plan{}, usual, Outlook{1, CostName}, 2, [2]int{2, 3}, DecidedPlan},
	} {
		t.Run(row.rule, func(t *testing.T) {
			got := ProposeWeeksWith(row.plan, row.cut, row.outlook)
			assert.Equal(t, row.weeks, got.Weeks, "%+v", got)
			assert.Equal(t, row.band, got.Band, "%+v", got)
			assert.Equal(t, row.decided, got.Decided, "%+v", got)
			if row.decided == "" {
				assert.Equal(t, ProposeWeeks(row.plan, row.cut), got)
			} else {
				assert.Contains(t, got.Why, " What decided: ", "the reason says it")
			}
		})
	}
	assert.Equal(t, "6 weeks are the most that is usual for a map like this when a mistake would cost the company’s good name and confidence is low. "+
		"By then none of the 3 assumptions to test first has a first result; the whole plan takes 9 weeks. What decided: risk and confidence.",
		ProposeWeeksWith(planOf(9, 3), usual, Outlook{2, CostName}).Why)
}

// The thirds of the scale meet at 3.5 and 6.5, which belong to the upper.
func TestBandsAtTheirBounds(t *testing.T) {
	for _, row := range []struct {
		importance, evidence Figure
		want                 band
	}{
		{6.5, 3.4, bandLong}, {6.5, 3.5, bandUsual}, {6.4, 3.4, bandUsual},
		{9, 6.5, bandShort}, {1, 6.4, bandUsual}, {1, 1, bandUsual}, {9, 1, bandLong},
	} {
		assert.Equal(t, row.want, bandFor(planOf(1, 1), Cut{row.importance, row.evidence}), "importance %v, evidence %v", row.importance, row.evidence)
	}
}

// Whatever the plan, the proposal lies in its band, and the reason is a
// sentence or two.
func TestProposalsStayInTheirBand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := MakePlan(rapid.SliceOfDistinct(rapid.SampledFrom([]string{"A1", "A2", "A3"}),
			func(s string) string { return s }).Draw(t, "test first"), drawTests(t), drawTeam(t))
		cut := Cut{Figure(rapid.Float64Range(1, 9).Draw(t, "importance")), Figure(rapid.Float64Range(1, 9).Draw(t, "evidence"))}
		got := ProposeWeeks(p, cut)
		require.GreaterOrEqual(t, got.Weeks, got.Band[0], "%+v leaves its band", got)
		require.LessOrEqual(t, got.Weeks, got.Band[1], "%+v leaves its band", got)
		require.LessOrEqual(t, got.Band[1], 6, "%+v leaves its band", got)
		require.LessOrEqual(t, strings.Count(got.Why, "."), 2, "more than two sentences: %q", got.Why)
		require.True(t, strings.HasSuffix(got.Why, "."), "no sentence: %q", got.Why)
		require.LessOrEqual(t, len(got.Why), 250, "too long: %q", got.Why)
		require.False(t, p.FirstAll >= got.Band[0] && p.FirstAll <= got.Band[1] && p.TestFirst > 0 && got.Weeks != p.FirstAll, "%d weeks, though all is done by week %d, inside the band", got.Weeks, p.FirstAll)
	})
}

func TestRenewalsAreTwoOrFourWeeks(t *testing.T) {
	assert.Equal(t, []int{2, 4}, Renewals(), "renewals")
}

func TestWeekOf(t *testing.T) {
	for end, want := range map[float64]int{0: 1, 0.1: 1, 5: 1, 5 + 1e-12: 1, 5.001: 2, 10: 2, math.Nextafter(15, 16): 3} {
		assert.Equal(t, want, weekOf(end), "weekOf(%g)", end)
	}
}

// Of three, ranks weigh 3, 2 and 1 of 6. By hand from the plan above: week 1 brings
// A2 and A3, week 2 A1.
func TestWhatAWeekBrings(t *testing.T) {
	p := MakePlan([]string{"A1", "A2", "A3"}, handTests, handTeam)
	assert.Equal(t, []FirstResult{{"A1", 2, 0.5}, {"A2", 1, 2.0 / 6}, {"A3", 1, 1.0 / 6}}, p.Firsts)
	ids, risk := p.Brings(1)
	assert.Equal(t, []string{"A2", "A3"}, ids)
	assert.InDelta(t, 0.5, risk, 1e-12)
	ids, risk = p.Untested(1)
	assert.Equal(t, []string{"A1"}, ids)
	assert.InDelta(t, 0.5, risk, 1e-12)
	ids, risk = p.Brings(3)
	assert.Empty(t, ids)
	assert.Zero(t, risk)
	assert.InDelta(t, 10, p.Effort, 1e-12)
	assert.InDelta(t, 4.5, p.PerWeek, 1e-12)
}

// Whatever the plan, its weeks and what is never tested make up the whole risk.
func TestWeeksMakeUpTheRisk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"A1", "A2", "A3", "A4", "A5"}), 1, 5, rapid.ID).Draw(t, "first")
		var tests []PlanTest
		for range rapid.IntRange(0, 6).Draw(t, "tests") {
			tests = append(tests, PlanTest{Assumption: rapid.SampledFrom(ids).Draw(t, "of"),
				Effort: rapid.Float64Range(0, 9).Draw(t, "effort"), Lead: rapid.Float64Range(0, 20).Draw(t, "lead")})
		}
		p := MakePlan(ids, tests, []Capacity{{"ana", rapid.Float64Range(0, 5).Draw(t, "days")}})
		last := 0
		for _, f := range p.Firsts {
			last = max(last, f.Week)
		}
		sum := 0.0
		for week := 1; week <= min(last, 10_000); week++ {
			_, risk := p.Brings(week)
			sum += risk
		}
		_, never := p.Untested(last)
		if last <= 10_000 {
			assert.InDelta(t, 1, sum+never, 1e-9)
		}
	})
}
