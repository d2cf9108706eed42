package engine

import (
	"fmt"
	"strings"
)

// An Outcome is what tests found about an assumption that was rated at the
// kickoff.
type Outcome struct {
	ID      string  `json:"id"`
	Zone    Zone    `json:"zone"`    // at the kickoff, after its last round
	Known   bool    `json:"known"`   // its evidence was known then
	Verdict Verdict `json:"verdict"` // empty: not tested
}

// A Tally counts what became of the assumptions of one kind. Rated includes
// Tested, and Tested includes Held and Fell; the rest of Tested is not clear
// yet.
type Tally struct {
	Rated  int `json:"rated"`
	Tested int `json:"tested"`
	Held   int `json:"held"` // supported by a test, refuted by none
	Fell   int `json:"fell"` // refuted by a test
}

// A Calibration lays the ratings of a kickoff beside what its tests found, in
// plain counts, so that the next kickoff guesses better. It is no score: the
// tested ones were not drawn by lot, and are few.
type Calibration struct {
	TestFirst     Tally  `json:"test_first"`     // zone test-first
	WellEvidenced Tally  `json:"well_evidenced"` // known; on earlier maps, evidence at the cut or above
	Sentence      string `json:"sentence"`       // both, to be read aloud
}

// Calibrate counts, of the assumptions that were rated test-first and of those
// that were thought well evidenced, how many were tested and how many fell.
//
// An assumption has one row: what its tests came to together, or an empty verdict
// where it was never tested.
func Calibrate(rows []Outcome) Calibration {
	var c Calibration
	for _, o := range rows {
		if o.Zone == TestFirst {
			c.TestFirst.add(o.Verdict)
		}
		if o.Known || o.Zone == RelyOn || o.Zone == Leave {
			c.WellEvidenced.add(o.Verdict)
		}
	}
	c.Sentence = sentenceCase(c.TestFirst.fate("to be tested first")) + ". " +
		sentenceCase(c.WellEvidenced.fate("thought well known")) + "."
	return c
}

func (t *Tally) add(v Verdict) {
	t.Rated++
	switch v {
	case Supported:
		t.Tested, t.Held = t.Tested+1, t.Held+1
	case Refuted:
		t.Tested, t.Fell = t.Tested+1, t.Fell+1
	case NotClear:
		t.Tested++
	}
}

// fate tells what became of the assumptions that were seen in one way.
func (t Tally) fate(seen string) string {
	switch {
	case t.Rated == 0:
		return "none was " + seen
	case t.Tested == 0:
		return fmt.Sprintf("of %d %s, none was tested", t.Rated, seen)
	case t.Tested == 1:
		return fmt.Sprintf("of %d %s, 1 was tested: %s", t.Rated, seen, t.became())
	}
	return fmt.Sprintf("of %d %s, %d were tested: %s", t.Rated, seen, t.Tested, t.became())
}

// became counts what came of those that were tested: "2 turned out true, 1 turned out
// not true, 1 is not clear yet".
func (t Tally) became() string {
	var parts []string
	if t.Held > 0 {
		parts = append(parts, fmt.Sprintf("%d turned out true", t.Held))
	}
	if t.Fell > 0 {
		parts = append(parts, fmt.Sprintf("%d turned out not true", t.Fell))
	}
	switch open := t.Tested - t.Held - t.Fell; open {
	case 0:
	case 1:
		parts = append(parts, "1 is not clear yet")
	default:
		parts = append(parts, fmt.Sprintf("%d are not clear yet", open))
	}
	return strings.Join(parts, ", ")
}

// sentenceCase begins a sentence, in plain ASCII, with a capital.
func sentenceCase(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
