package views

import (
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// A Fate is what became of a belief.
type Fate string

// The fates. Their values stand in kickoff.json.
const (
	Held     Fate = "held"
	Fell     Fate = "fell"
	Open     Fate = "open" // it was tested, and that does not tell yet
	Untested Fate = "not tested"
)

// FateOf is what became of an assumption.
func FateOf(k *state.Kickoff, id string) Fate {
	switch state.VerdictOf(k, id) {
	case engine.Supported:
		return Held
	case engine.Refuted:
		return Fell
	case "":
		return Untested
	}
	return Open
}

// A Belief is one line of the record of a discovery: what was believed, what was
// done about it, and what came of it.
type Belief struct {
	ID, Text string
	First    bool // it was to be tested first
	Fate     Fate
	Tests    []state.Test // those that were planned, with those that were dropped
	Learnt   []string     // from the reports that count, the oldest first
}

// Record lists the beliefs that were tested, or were to be tested first, in
// test order.
func Record(k *state.Kickoff) []Belief {
	var out []Belief
	first := k.InZone(engine.TestFirst)
	for _, id := range k.Order() {
		a, _ := k.Assumption(id)
		b := Belief{ID: id, Text: a.Text, First: slices.Contains(first, id), Fate: FateOf(k, id)}
		for _, t := range k.Backlog.Tests {
			if t.Assumption != id || t.Withdrawn && t.Dropped == "" {
				continue
			}
			b.Tests = append(b.Tests, t)
			reports := state.Results(k.Underway, t.N)
			for _, r := range reports {
				if _, corrected := state.Correction(reports, r.Entry); !corrected && r.Learnt != "" {
					b.Learnt = append(b.Learnt, r.Learnt)
				}
			}
		}
		if b.First || b.Fate != Untested {
			out = append(out, b)
		}
	}
	return out
}

// A Cost is what the tests of a discovery take, in person-days.
type Cost struct {
	Planned float64 // of all tests that stand
	Used    float64 // of those with a result, as they were planned
}

// CostOf adds the tests up.
func CostOf(k *state.Kickoff) Cost {
	var c Cost
	for _, t := range k.Backlog.Tests {
		if _, reported := state.Found(k, t.N); reported {
			c.Used += t.EffortDays
		} else if t.Withdrawn {
			continue
		}
		c.Planned += t.EffortDays
	}
	return c
}

// DaysSaved counts the dates that were left of the time box at a moment, where
// the lead is.
func DaysSaved(k *state.Kickoff, at time.Time) int {
	if k.Timebox.Ends.IsZero() || at.IsZero() {
		return 0
	}
	return max(0, workdays.DatesUntil(k.LeadHours(), k.Timebox.Ends, at))
}
