package words

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
)

func TestPlanText(t *testing.T) {
	for _, row := range []struct {
		plan engine.TestPlan
		want string
	}{
		{engine.TestPlan{N: 12, Mark: 0.6}, "With 12 people or cases and a mark of 60%: 8 or more support the belief, 3 or fewer speak against it. " +
			"A belief true for only 45% would still pass 11 times in 100; with 19 people or cases 9 times."},
		{engine.TestPlan{N: 60, Mark: 0.6}, "With 60 people or cases and a mark of 60%: 36 or more support the belief, 28 or fewer speak against it. " +
			"A belief true for only 45% would still pass once in 100."},
		{engine.TestPlan{N: 2, Mark: 0.6}, "With 2 people or cases and a mark of 60%: all 2 support the belief, no result speaks against it. " +
			"A belief true for only 45% would still pass 20 times in 100; with 19 people or cases 9 times."},
		{engine.TestPlan{N: 2, Mark: 1, Census: true}, "These 2 are all there are: all 2 support the belief, fewer speak against it."},
		{engine.TestPlan{N: 5, Mark: 0.6, Census: true}, "These 5 are all there are: 3 or more support the belief, fewer speak against it."},
		{engine.TestPlan{Mark: 0.6}, "Without a number of people or cases there is no verdict until the result is beyond chance. " +
			"With 19 a mark of 60% misleads about one time in ten at most."},
		{engine.TestPlan{N: 12}, ""},
	} {
		assert.Equal(t, row.want, PlanText(row.plan), "%+v", row.plan)
	}
}

func TestFindingTextOfALook(t *testing.T) {
	for _, row := range []struct {
		plan engine.TestPlan
		k, n int
		want string
	}{
		{engine.TestPlan{N: 12, Mark: 0.6}, 9, 12, "9 of 12, pass mark 60%: turned out true, but only just. The true share is likely between 47% and 91%."},
		{engine.TestPlan{N: 12, Mark: 0.6}, 7, 8, "7 of 8 so far, 12 planned, pass mark 60%: no verdict yet."},
		{engine.TestPlan{Mark: 0.6}, 9, 12, "9 of 12 so far, no number planned, pass mark 60%: no verdict yet."},
		{engine.TestPlan{N: 30, Mark: 0.6}, 12, 12, "12 of 12 so far, 30 planned, pass mark 60%: turned out true already, too clearly to be chance, however often one looks."},
		{engine.TestPlan{N: 2, Mark: 1, Census: true}, 2, 2, "2 of 2, these are all there are, pass mark 100%: turned out true."},
		{engine.TestPlan{N: 2, Mark: 1, Census: true}, 1, 1, "1 of 1 so far, 2 in all, pass mark 100%: no verdict yet."},
		{engine.TestPlan{N: 2, Mark: 1, Census: true}, 0, 1, "0 of 1 so far, 2 in all, pass mark 100%: turned out not true, whatever the others say."},
	} {
		assert.Equal(t, row.want, FindingText(row.plan.Judge(row.k, row.n)), "%d of %d by %+v", row.k, row.n, row.plan)
	}
}
