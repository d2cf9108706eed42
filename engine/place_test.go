package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func spreadOf(values ...int) Spread {
	var c Counts
	for _, v := range values {
		c[v]++
	}
	return c.Spread()
}

// What comes later is laid on the cuts of the map that stands: the same ratings
// give the same zone as those of an assumption that was on it from the start.
func TestPlaceUsesTheCutsOfTheMap(t *testing.T) {
	first := Result{Assumptions: []AssumptionScore{
		{ID: "A1", Importance: spreadOf(8, 8, 9), Evidence: spreadOf(2, 2, 3), Zone: TestFirst},
		{ID: "A2", Importance: spreadOf(5, 5, 6), Evidence: spreadOf(5, 6, 6), Zone: Later},
	}}
	for _, row := range []struct {
		rule                 string
		importance, evidence Spread
		asked                int
		zone                 Zone
		thin, known          bool
	}{
		{"important and little known", spreadOf(7, 8, 8), spreadOf(2, 3, 3), 3, TestFirst, false, false},
		{"important and well known", spreadOf(7, 8, 8), spreadOf(7, 8, 8), 3, Next, false, true},
		{"what few have rated is not known", spreadOf(7, 8), spreadOf(8, 8), 3, TestFirst, true, false},
		{"nor what fewer than half of those asked have", spreadOf(7, 8, 8), spreadOf(7, 8, 8), 8, TestFirst, true, false},
		{"below a third it does not matter", spreadOf(2, 3, 3), spreadOf(8, 8, 8), 3, Later, false, true},
	} {
		a := first.Place("A9", row.importance, row.evidence, row.asked)
		assert.Equal(t, row.zone, a.Zone, row.rule)
		assert.Equal(t, row.thin, a.Thin, row.rule)
		assert.Equal(t, row.known, a.Known, row.rule)
	}
}

func TestReportsThatMeetTheirMarkOrNot(t *testing.T) {
	for _, row := range []struct {
		k, n int
		want Verdict
	}{{1, 1, Supported}, {3, 3, Supported}, {0, 1, Refuted}, {0, 2, Refuted}, {1, 2, NotClear}, {0, 0, NotClear}} {
		f := TestPlan{Each: true, N: 12}.Judge(row.k, row.n)
		assert.Equal(t, row.want, f.Verdict, "%d of %d", row.k, row.n)
		assert.False(t, f.Narrow || f.Early, "chance has no part in %d of %d", row.k, row.n)
	}
}
