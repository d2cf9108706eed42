package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A team of two, and one who cannot give any time.
var smallTeam = []Capacity{{"ana", 2.5}, {"bo", 5}, {"cy", 0}}

func TestScheduleByHand(t *testing.T) {
	type place struct {
		by         string
		start, end float64
	}
	never := place{"", math.NaN(), math.NaN()}
	for _, row := range []struct {
		rule  string
		tests []PlanTest
		want  []place
	}{
		{"half of the days take twice as long",
			[]PlanTest{{"A1", 3, 0, "ana"}}, []place{{"ana", 0, 6}}},
		{"an owner does one after the other",
			[]PlanTest{{"A1", 2, 0, "bo"}, {"A2", 3, 0, "bo"}}, []place{{"bo", 0, 2}, {"bo", 2, 5}}},
		{"without an owner, whoever is free first",
			[]PlanTest{{"A1", 1, 0, "ana"}, {"A2", 1, 0, ""}}, []place{{"ana", 0, 2}, {"bo", 0, 1}}},
		{"of equals, who is named first",
			[]PlanTest{{"A1", 1, 0, ""}}, []place{{"ana", 0, 2}}},
		{"waiting costs nobody's time",
			[]PlanTest{{"A1", 1, 4, "bo"}, {"A2", 3, 0, "bo"}}, []place{{"bo", 4, 5}, {"bo", 0, 3}}},
		{"a later test never delays an earlier one",
			[]PlanTest{{"A1", 1, 4, "bo"}, {"A2", 5, 0, "bo"}}, []place{{"bo", 4, 5}, {"bo", 5, 10}}},
		{"a gap that just fits is used",
			[]PlanTest{{"A1", 1, 4, "bo"}, {"A2", 4, 0, "bo"}}, []place{{"bo", 4, 5}, {"bo", 0, 4}}},
		{"waiting runs from the start of the box",
			[]PlanTest{{"A1", 6, 0, "bo"}, {"A2", 1, 4, "bo"}}, []place{{"bo", 0, 6}, {"bo", 6, 7}}},
		{"who gives no days does nothing",
			[]PlanTest{{"A1", 1, 0, "cy"}}, []place{never}},
		{"an owner outside the team",
			[]PlanTest{{"A1", 1, 0, "dee"}}, []place{never}},
		{"amounts below 0 count as 0",
			[]PlanTest{{"A1", -1, -2, "bo"}, {"A2", math.NaN(), math.NaN(), "bo"}}, []place{{"bo", 0, 0}, {"bo", 0, 0}}},
		{"work without end blocks what comes after it, not what fits before",
			[]PlanTest{{"A1", math.Inf(1), 3, "bo"}, {"A2", 2, 0, "bo"}, {"A3", 2, 0, "bo"}},
			[]place{{"bo", 3, math.Inf(1)}, {"bo", 0, 2}, never}},
	} {
		t.Run(row.rule, func(t *testing.T) {
			for i, got := range schedule(row.tests, smallTeam) {
				want := row.want[i]
				assert.Equal(t, want.by, got.By, "%s by %q from %v to %v, want by %q from %v to %v", got.Assumption, got.By, got.Start, got.End, want.by, want.start, want.end)
				assert.True(t, sameFigure(got.Start, want.start), "%s by %q from %v to %v, want by %q from %v to %v", got.Assumption, got.By, got.Start, got.End, want.by, want.start, want.end)
				assert.True(t, sameFigure(got.End, want.end), "%s by %q from %v to %v, want by %q from %v to %v", got.Assumption, got.By, got.Start, got.End, want.by, want.start, want.end)
			}
		})
	}
}

func sameFigure(got Figure, want float64) bool {
	return float64(got) == want || math.IsNaN(float64(got)) && math.IsNaN(want)
}

func drawTests(t *rapid.T) []PlanTest {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) PlanTest {
		return PlanTest{
			Assumption: rapid.SampledFrom([]string{"A1", "A2", "A3", "A4"}).Draw(t, "assumption"),
			Effort:     float64(rapid.IntRange(0, 40).Draw(t, "half days")) / 2,
			Lead:       float64(rapid.IntRange(0, 15).Draw(t, "lead")),
			Owner:      rapid.SampledFrom([]string{"", "", "ana", "bo", "cy", "dee"}).Draw(t, "owner"),
		}
	}), 0, 12).Draw(t, "tests")
}

func drawTeam(t *rapid.T) []Capacity {
	var team []Capacity
	for _, id := range []string{"ana", "bo", "cy"} {
		team = append(team, Capacity{id, float64(rapid.IntRange(0, 10).Draw(t, "half days of "+id)) / 2})
	}
	return team
}

// What every plan must keep to, whatever its tests: nobody does two things at
// once, nothing begins before its lead time, and everyone keeps their pace.
func TestScheduleKeepsItsRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tests, team := drawTests(t), drawTeam(t)
		planned := schedule(tests, team)
		for i, p := range planned {
			if !p.End.Defined() {
				continue
			}
			require.False(t, float64(p.Start) < p.Lead, "%+v begins too early, or is done by somebody else", p)
			require.False(t, p.Owner != "" && p.By != p.Owner, "%+v begins too early, or is done by somebody else", p)
			took := float64(p.End - p.Start)
			require.False(t, math.Abs(took*paceOf(team, p.By)-p.Effort) > 1e-9, "%+v takes %g working days", p, took)
			for _, q := range planned[:i] {
				require.False(t, q.By == p.By && p.Effort > 0 && q.Effort > 0 && p.Start < q.End-hair && q.Start < p.End-hair, "%s does %+v and %+v at once", p.By, q, p)
			}
		}
	})
}

func paceOf(team []Capacity, id string) float64 {
	for _, c := range team {
		if c.ID == id {
			return c.Days / WorkingWeek
		}
	}
	return math.NaN()
}

// A test is never delayed by what stands after it.
func TestScheduleNeverDelaysWhatStandsBefore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tests, team := drawTests(t), drawTeam(t)
		all := schedule(tests, team)
		n := rapid.IntRange(0, len(tests)).Draw(t, "first tests")
		for i, p := range schedule(tests[:n], team) {
			require.Equal(t, all[i].By, p.By, "alone %+v, with later ones %+v", p, all[i])
			require.True(t, sameFigure(p.End, float64(all[i].End)), "alone %+v, with later ones %+v", p, all[i])
		}
	})
}

// The naive twin tries every quarter of a day: whole and half days of people
// who give five days a week begin on one.
func TestScheduleTakesTheFirstGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tests := drawTests(t)
		for i := range tests {
			tests[i].Owner = "bo"
		}
		team := []Capacity{{"bo", 5}}
		var taken [1000]bool // quarters of a day
		for _, p := range schedule(tests, team) {
			length, at := int(p.Effort*4), int(p.Lead*4)
			for length > 0 && !freeFor(taken[at:at+length]) {
				at++
			}
			require.False(t, length > 0 && float64(p.Start) != float64(at)/4, "%+v could begin at %g", p, float64(at)/4)
			for q := at; q < at+length; q++ {
				taken[q] = true
			}
		}
	})
}

func freeFor(quarters []bool) bool {
	for _, taken := range quarters {
		if taken {
			return false
		}
	}
	return true
}
