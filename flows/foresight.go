package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// This file holds what people expect of a test before anybody knows. It is said by
// each alone, counted when the first result comes in, and laid beside it.

// Foresee says what the actor expects of a test; the last word counts.
type Foresee struct {
	By
	Test    int
	Percent int // one of state.Shares: of a share itself, of a figure or a yes how likely it is met
}

func (i Foresee) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	_, stands := k.Test(i.Test)
	if err := cmp.Or(
		refuseIf(!stands, "test", "There is no test %d.", i.Test),
		refuseIf(!slices.Contains(state.Shares(), i.Percent), "expect", "Choose one of the five answers."),
		refuseIf(len(state.Results(k.Underway, i.Test)) > 0, "expect", "The first result of this test is in, so it is too late to say what you expect."),
		refuseIf(!slices.ContainsFunc(ToForesee(k), func(t state.Test) bool { return t.N == i.Test }), "expect", "What you expect is asked once the tests are planned, and until their results are in."),
	); err != nil {
		return nil, err
	}
	return when(k.Foresight[i.Test].Said[i.Who] != i.Percent, event.Foreseen{Test: i.Test, Percent: i.Percent})
}

// ToForesee lists the tests of which people may say what they expect, in test order:
// those without a result, from the end of their planning on.
func ToForesee(k *state.Kickoff) []state.Test {
	if k.LeavesOut(state.StageTimebox) || k.Stage == state.StageEnded || yetToCome(k, state.StageTimebox) {
		return nil
	}
	var tests []state.Test
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			if len(state.Results(k.Underway, t.N)) == 0 {
				tests = append(tests, t)
			}
		}
	}
	return tests
}

// countForesight counts what people expected of a test whose first result comes in.
func countForesight(k *state.Kickoff, test int) []event.Event {
	said := k.Foresight[test].Said
	if len(said) == 0 {
		return nil
	}
	return append([]event.Event{event.ForesightCounted{Test: test, Expected: state.ExpectedOf(k, said)}}, event.EmptyForesight(k, test)...)
}

// forgetForesight empties what people expect of tests that will have no result any more.
func forgetForesight(k *state.Kickoff) []event.Event {
	var events []event.Event
	for n := range k.Backlog.Tests {
		events = append(events, event.EmptyForesight(k, n+1)...)
	}
	return events
}
