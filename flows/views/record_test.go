package views

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"soundings/flows/state"
)

// tried is the box with a test that held, one that fell, and what was learnt.
func tried() state.Kickoff {
	k := box()
	for _, id := range []string{"A1", "A2", "A3", "A4"} {
		k.Assumptions = append(k.Assumptions, state.Assumption{ID: id, Text: "Belief " + id})
	}
	k.Backlog.Tests[0].Size, k.Backlog.Tests[3].Size = 9, 9
	return withResults(k,
		state.TestResult{Test: 1, K: 1, N: 9, Rule: state.ByPlan, Entry: 1, Told: state.Told{Learnt: "wrong count"}},
		state.TestResult{Test: 1, K: 9, N: 9, Rule: state.ByPlan, Entry: 2, Corrects: 1, Told: state.Told{Learnt: "all of them"}},
		state.TestResult{Test: 4, K: 1, N: 9, Rule: state.ByPlan, Entry: 3, Told: state.Told{Learnt: "hardly any"}})
}

func TestRecordSaysWhatBecameOfEachBelief(t *testing.T) {
	k := tried()
	got := Record(&k)
	assert.Len(t, got, 3, "what came first or was tested, in test order")
	for i, want := range []struct {
		id     string
		first  bool
		fate   Fate
		tests  int
		learnt []string
	}{
		{"A2", true, Untested, 1, nil}, // the test that was taken back is no part of it
		{"A1", true, Held, 1, []string{"all of them"}},
		{"A3", false, Fell, 1, []string{"hardly any"}},
	} {
		assert.Equal(t, want.id, got[i].ID)
		assert.Equal(t, want.first, got[i].First, want.id)
		assert.Equal(t, want.fate, got[i].Fate, want.id)
		assert.Len(t, got[i].Tests, want.tests, want.id)
		assert.Equal(t, want.learnt, got[i].Learnt, "%s: a report that was corrected taught nothing", want.id)
	}
}

func TestWhatIsNotClearIsOpen(t *testing.T) {
	k := tried()
	k.Backlog.Tests[3].Size = 100
	assert.Equal(t, Open, FateOf(&k, "A3"), "before the planned number there is no verdict")
}

func TestDroppedTestsStayOnRecordAndCostNothing(t *testing.T) {
	k := tried()
	assert.Equal(t, Cost{Planned: 8, Used: 3}, CostOf(&k))
	k.Backlog.Tests[1].Withdrawn, k.Backlog.Tests[1].Dropped = true, "No time."
	assert.Equal(t, Cost{Planned: 3, Used: 3}, CostOf(&k))
	assert.Len(t, Record(&k)[0].Tests, 1)
	k.Backlog.Tests[0].Withdrawn, k.Backlog.Tests[0].Dropped = true, "Enough is known."
	assert.Equal(t, Cost{Planned: 3, Used: 3}, CostOf(&k), "what was done was done")
}

func TestDaysSavedAreDatesWhereTheLeadIs(t *testing.T) {
	k := box()
	assert.Equal(t, 9, DaysSaved(&k, time.Date(2027, 3, 20, 23, 0, 0, 0, time.UTC)))
	assert.Zero(t, DaysSaved(&k, k.Timebox.Ends.Add(time.Hour)))
	k.Timebox.Ends = time.Time{}
	assert.Zero(t, DaysSaved(&k, time.Date(2027, 3, 20, 9, 0, 0, 0, time.UTC)))
}
