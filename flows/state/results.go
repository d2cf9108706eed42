package state

import (
	"slices"

	"soundings/engine"
	"soundings/flows/lists"
)

// A TestResult is one report of what a test showed. Reports of a test add up,
// and none is ever taken away.
type TestResult struct {
	Test int
	K, N int // k of n more; where a figure or a yes is the mark, 1 of 1 that met it, or 0 of 1
	By   UserID
	Rule Rule `json:",omitempty"` // ByPlan; one without was judged by its pass mark alone, and stays so

	Entry    int     `json:",omitempty"` // its number among all reports; 0 where an older release took the last report for the whole
	Figure   float64 `json:",omitempty"` // where the pass mark is one
	Corrects int     `json:",omitempty"` // the entry in whose place it counts
	Why      string  `json:",omitempty"` // what was wrong with that one
	Told
}

// Told is what a report says in words.
type Told struct {
	Learnt   string `json:",omitempty"`
	Surprise string `json:",omitempty"`
	Link     string `json:",omitempty"`
	Quote    string `json:",omitempty"` // of somebody who is not named
}

// Results lists the reports about a test, oldest first, corrected ones too.
func Results(u Underway, test int) []TestResult {
	var out []TestResult
	for _, c := range u.Checkins {
		out = append(out, lists.Keep(c.Results, func(r TestResult) bool { return r.Test == test })...)
	}
	return out
}

// Correction is the report that counts in the place of an entry, if one does.
func Correction(reports []TestResult, entry int) (TestResult, bool) {
	return lists.Find(reports, func(r TestResult) bool { return entry > 0 && r.Corrects == entry })
}

// Numbered is the report of that number among all.
func Numbered(reports []TestResult, entry int) (TestResult, bool) {
	return lists.Find(reports, func(r TestResult) bool { return entry > 0 && r.Entry == entry })
}

// planOf is what was fixed of a test that may have been dropped since: what
// it found by then stays found.
func planOf(k *Kickoff, test int) Test {
	if t := lists.Nth(k.Backlog.Tests, test); t != nil {
		return *t
	}
	return Test{}
}

// Finding lays what the reports of a test came to, up to and with r, against
// what was planned. One that was made before there were plans keeps the verdict
// that people saw.
func Finding(k *Kickoff, r TestResult) engine.Finding {
	t := planOf(k, r.Test)
	if r.Rule != ByPlan {
		return engine.Judge(r.K, r.N, t.PassShare)
	}
	reports := Results(k.Underway, r.Test)
	hits, cases := counted(reports[:slices.Index(reports, r)+1])
	return t.Planned().Judge(hits, cases)
}

// counted adds reports up. Those of an older release were the count so far.
func counted(reports []TestResult) (hits, cases int) {
	for _, r := range reports {
		switch _, corrected := Correction(reports, r.Entry); {
		case r.Entry == 0:
			hits, cases = r.K, r.N
		case !corrected:
			hits, cases = hits+r.K, cases+r.N
		}
	}
	return hits, cases
}

// Found is what a test has found so far; false when nothing was reported.
func Found(k *Kickoff, test int) (engine.Finding, bool) {
	reports := Results(k.Underway, test)
	if len(reports) == 0 {
		return engine.Finding{}, false
	}
	return Finding(k, reports[len(reports)-1]), true
}

// VerdictOf is what the tests of an assumption have found so far: it is
// refuted when any test refutes it, else supported when any supports it, else
// not clear yet, else only so far. It is empty when no test has a result. A test
// that was dropped has found what it had found.
func VerdictOf(k *Kickoff, id string) engine.Verdict {
	var found []engine.Verdict
	for _, t := range k.Backlog.Tests {
		if t.Assumption != id {
			continue
		}
		if f, reported := Found(k, t.N); reported {
			found = append(found, f.Verdict)
		}
	}
	for _, v := range []engine.Verdict{engine.Refuted, engine.Supported, engine.NotClear, engine.SoFar} {
		if slices.Contains(found, v) {
			return v
		}
	}
	return ""
}
