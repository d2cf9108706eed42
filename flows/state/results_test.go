package state

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
)

// tested is a kickoff with two tests of A1, one of A2, and these reports, each
// at a check-in of its own.
func tested(reports ...TestResult) *Kickoff {
	k := &Kickoff{Backlog: Backlog{Tests: []Test{
		{N: 1, Assumption: "A1", PassShare: 0.6, Size: 40},
		{N: 2, Assumption: "A1", PassShare: 0.5},
		{N: 3, Assumption: "A2", Bound: Bound{Unit: "minutes", At: 15, AtMost: true}},
		{N: 4, Assumption: "A3", YesNo: true, Withdrawn: true},
		{N: 5, Assumption: "A4", PassShare: 1, Size: 3, Census: true},
	}}}
	for i, r := range reports {
		k.Underway.Checkins = append(k.Underway.Checkins, Checkin{N: i + 1, Results: []TestResult{r}})
	}
	return k
}

func report(entry, test, k, n int) TestResult {
	return TestResult{Entry: entry, Test: test, K: k, N: n, Rule: ByPlan}
}

func corrects(r TestResult, entry int) TestResult {
	r.Corrects = entry
	return r
}

func TestReportsAddUp(t *testing.T) {
	for _, row := range []struct {
		rule    string
		reports []TestResult
		test    int
		k, n    int
		want    engine.Verdict
	}{
		{"a refutation does not go by a better second attempt", []TestResult{report(1, 1, 9, 40), report(2, 1, 24, 40)}, 1, 33, 80, engine.Refuted},
		{"1 of 100 says nothing", []TestResult{report(1, 1, 1, 1)}, 1, 1, 1, engine.SoFar},
		{"the planned number may come in pieces", []TestResult{report(1, 1, 10, 15), report(2, 1, 16, 25)}, 1, 26, 40, engine.Supported},
		{"a correction counts in the place of what was wrong", []TestResult{report(1, 1, 9, 40), corrects(report(2, 1, 29, 40), 1)}, 1, 29, 40, engine.Supported},
		{"and so does a correction of it", []TestResult{report(1, 1, 9, 40), corrects(report(2, 1, 29, 40), 1), corrects(report(3, 1, 9, 40), 2)}, 1, 9, 40, engine.Refuted},
		{"an older release took the last report for the whole", []TestResult{report(0, 1, 9, 20), report(0, 1, 24, 39), report(3, 1, 1, 1)}, 1, 25, 40, engine.Supported},
		{"figures have to agree", []TestResult{report(1, 3, 1, 1), report(2, 3, 0, 1)}, 3, 1, 2, engine.NotClear},
		{"one figure that meets its mark is enough", []TestResult{report(1, 3, 1, 1)}, 3, 1, 1, engine.Supported},
		{"a no is clear, and stays when its test is dropped", []TestResult{report(1, 4, 0, 1)}, 4, 0, 1, engine.Refuted},
		{"of all there are, one that does not is enough", []TestResult{report(1, 5, 0, 1)}, 5, 0, 1, engine.Refuted},
	} {
		f, reported := Found(tested(row.reports...), row.test)
		assert.True(t, reported, row.rule)
		assert.Equal(t, [2]int{row.k, row.n}, [2]int{f.K, f.N}, row.rule)
		assert.Equal(t, row.want, f.Verdict, row.rule)
	}
}

func TestVerdictOfSeveralTests(t *testing.T) {
	for _, row := range []struct {
		rule    string
		reports []TestResult
		want    engine.Verdict
	}{
		{"no result, no verdict", nil, ""},
		{"one test that refutes is enough", []TestResult{{Test: 2, K: 40, N: 40}, report(1, 1, 2, 40)}, engine.Refuted},
		{"support wins over what is not clear", []TestResult{report(1, 1, 20, 40), {Test: 2, K: 9, N: 10}}, engine.Supported},
		{"not clear is a verdict too", []TestResult{report(1, 1, 20, 40)}, engine.NotClear},
	} {
		assert.Equal(t, row.want, VerdictOf(tested(row.reports...), "A1"), row.rule)
	}
}

// A result that was reported before there were plans keeps the verdict that
// people saw; one of today waits for the number that was planned.
func TestVerdictKeepsItsRule(t *testing.T) {
	for _, row := range []struct {
		rule Rule
		want engine.Verdict
	}{{"", engine.Supported}, {ByPlan, engine.SoFar}} {
		assert.Equal(t, row.want, VerdictOf(tested(TestResult{Test: 1, K: 6, N: 8, Rule: row.rule}), "A1"), "by %q", row.rule)
	}
}

func TestFindingSaysHowItStoodWithEachReport(t *testing.T) {
	first := report(1, 1, 9, 40)
	k := tested(first, report(2, 1, 24, 40))
	assert.Equal(t, 40, Finding(k, first).N)
	assert.Equal(t, engine.Refuted, Finding(k, first).Verdict)
	_, reported := Found(k, 2)
	assert.False(t, reported)
}
