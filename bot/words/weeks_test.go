package words

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
)

// Four to test first. Ana gives 5 days a week: A1 in week 1, A2 in week 2, A4 in
// week 4; Bo has to wait 8 days for A3, which then takes him into week 3.
func planOfFour(days float64) engine.Plan {
	return engine.MakePlan([]string{"A1", "A2", "A3", "A4"}, []engine.PlanTest{
		{Assumption: "A1", Effort: 3, Owner: "ana"}, {Assumption: "A2", Effort: 5, Owner: "ana"},
		{Assumption: "A3", Effort: 3, Lead: 8, Owner: "bo"}, {Assumption: "A4", Effort: 8, Owner: "ana"},
	}, []engine.Capacity{{ID: "ana", Days: days}, {ID: "bo", Days: days}})
}

func TestWeeksBring(t *testing.T) {
	for _, row := range []struct {
		rule  string
		plan  engine.Plan
		weeks int
		want  string
	}{
		{"the whole plan", planOfFour(5), 4, "The last of them brings a first result on A4 (10% of the risk, by rank). A fifth week would bring nothing new."},
		{"a week more than the plan", planOfFour(5), 5, "After week 4 the plan brings nothing new."},
		{"less than the plan", planOfFour(5), 1, "The tests take 19 days of work, and the team can give 10 days in 1 week: some will not be done. " +
			"The last of them brings a first result on A1 (40% of the risk, by rank). " +
			"A second week would bring A2 (30% of the risk). A third week would bring A3 (20% of the risk). A fourth week would bring A4 (10% of the risk)."},
		{"nobody has days", planOfFour(0), 4, "Nobody has days to give, so no test gets done: ask for days, or for other people."},
		{"nothing to test first", engine.Plan{}, 2, ""},
	} {
		assert.Equal(t, row.want, WeeksBring(row.plan, row.weeks), row.rule)
	}
}

func TestShortBox(t *testing.T) {
	assert.Equal(t, "With 1 week, 2 of the 3 riskiest stay untested: A2, A3; in all 3 of 4 (60% of the risk, by rank). The test of A3 waits 8 days before its work can begin.",
		ShortBox(planOfFour(5), 1))
	assert.Equal(t, "With 3 weeks, 1 of 4 to test first stays untested: A4 (10% of the risk, by rank).", ShortBox(planOfFour(5), 3))
	assert.Empty(t, ShortBox(planOfFour(5), 4))
	assert.Empty(t, ShortBox(planOfFour(0), 4), "no box would help")
	assert.Empty(t, ShortBox(engine.Plan{}, 1))
}

// Five ranks weigh 1, 1/2, ... and none is a whole percent: what the weeks are said
// to test still adds to 100.
func TestTheWeeksAddToAHundred(t *testing.T) {
	for n := 1; n <= 9; n++ {
		var ids []string
		var tests []engine.PlanTest
		for i := range n {
			ids = append(ids, fmt.Sprintf("A%d", i+1))
			tests = append(tests, engine.PlanTest{Assumption: ids[i], Effort: 5, Owner: "ana"})
		}
		plan, sum := engine.MakePlan(ids, tests, []engine.Capacity{{ID: "ana", Days: 5}}), 0
		for _, w := range plan.Weeks {
			sum += WeekRisk(plan, w.Week)
		}
		assert.Equal(t, 100, sum, "%d weeks", n)
	}
}
