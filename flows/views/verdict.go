package views

import (
	"slices"

	"soundings/engine"
	"soundings/flows"
)

// findingOf lays the last result of a test against its pass mark; false when
// none was reported.
func findingOf(k flows.Kickoff, test int) (engine.Finding, bool) {
	t, stands := k.Test(test)
	r, reported := k.Underway.ResultOf(test)
	if !stands || !reported {
		return engine.Finding{}, false
	}
	return engine.Judge(r.K, r.N, t.PassShare), true
}

// Calibration lays the ratings of the kickoff beside what the tests found.
// The zones are those of the kickoff's map, whatever was learnt since.
func Calibration(k flows.Kickoff) engine.Calibration {
	m := k.Map()
	if m == nil {
		return engine.Calibrate(nil)
	}
	outcomes := make([]engine.Outcome, len(m.Assumptions))
	for i, a := range m.Assumptions {
		outcomes[i] = engine.Outcome{ID: a.ID, Zone: a.Zone, Verdict: VerdictOf(k, a.ID)}
	}
	return engine.Calibrate(outcomes)
}

// VerdictOf is what the tests of an assumption have found so far: it is
// refuted when any test refutes it, else supported when any supports it, else
// not clear yet. It is empty when no test has a result.
func VerdictOf(k flows.Kickoff, id string) engine.Verdict {
	var found []engine.Verdict
	for _, t := range k.TestsOf(id) {
		if f, ok := findingOf(k, t.N); ok {
			found = append(found, f.Verdict)
		}
	}
	for _, v := range []engine.Verdict{engine.Refuted, engine.Supported, engine.NotClear} {
		if slices.Contains(found, v) {
			return v
		}
	}
	return ""
}
