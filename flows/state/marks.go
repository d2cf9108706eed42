package state

import (
	"fmt"
	"slices"

	"soundings/engine"
)

// A Mark is what was written down beforehand by which a time box is judged,
// with what is known of it by now.
type Mark struct {
	Build bool   // it would make us build; else stop
	Text  string // empty where nothing was written down
	On    string // the assumption that tells, or the test as TestOn has it; empty where nothing does
	State MarkState
}

// A MarkState is whether a mark is met.
type MarkState string

// The states of a mark.
const (
	MarkMet      MarkState = "met"
	MarkNotMet   MarkState = "not met"
	MarkNotKnown MarkState = "not known"
)

// TestOn names a test as what a mark hangs on.
func TestOn(n int) string { return fmt.Sprintf("test %d", n) }

// Marks are what would make us stop, and what would make us build.
func Marks(k *Kickoff) []Mark {
	t := k.Timebox
	if t.StopIf == "" {
		t.StopOn = ""
	}
	if t.BuildIf == "" {
		t.BuildOn = ""
	}
	return []Mark{
		{Text: t.StopIf, On: t.StopOn, State: markState(k, t.StopOn, engine.Refuted, engine.Supported)},
		{Build: true, Text: t.BuildIf, On: t.BuildOn, State: markState(k, t.BuildOn, engine.Supported, engine.Refuted)},
	}
}

// markState lays what a mark hangs on against the verdict that meets it.
func markState(k *Kickoff, on string, met, notMet engine.Verdict) MarkState {
	found := VerdictOf(k, on)
	for _, t := range k.Backlog.Tests {
		if f, reported := Found(k, t.N); reported && TestOn(t.N) == on {
			found = f.Verdict
		}
	}
	switch {
	case on == "":
	case found == met:
		return MarkMet
	case found == notMet:
		return MarkNotMet
	}
	return MarkNotKnown
}

// Settled reports that no open test can change what the marks say: each hangs on
// something, is met or not, and nothing about that is still to be found out.
func Settled(k *Kickoff) bool {
	return !slices.ContainsFunc(Marks(k), func(m Mark) bool {
		return m.State == MarkNotKnown || slices.ContainsFunc(k.Backlog.Tests, func(t Test) bool {
			f, reported := Found(k, t.N)
			about := m.On == t.Assumption || m.On == TestOn(t.N)
			return about && !t.Withdrawn && (!reported || f.Verdict == engine.SoFar)
		})
	})
}

// AgainstMarks reports that a choice goes against what was written beforehand.
func AgainstMarks(k *Kickoff, c Choice) bool {
	marks := Marks(k)
	stop, build := marks[0].State, marks[1].State
	switch c {
	case Build:
		return stop == MarkMet || build == MarkNotMet
	case Stop:
		return build == MarkMet && stop != MarkMet
	}
	return false
}
