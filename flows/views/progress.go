package views

import (
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows"
	"soundings/flows/workdays"
)

// A Progress is how far a discovery has come.
type Progress struct {
	TestFirst  int           // assumptions that the kickoff's map puts first
	Tested     int           // of these, how many have a result
	DaysLeft   int           // dates until the box ends: 1 when it ends tomorrow, 0 on its last day and after
	Over       bool          // the box has ended
	Checkin    int           // the last check-in that was opened; 0 when none was
	Confidence engine.Figure // median of the last closed check-in with votes, 1 to 9; undefined without
	Voters     int           // how many votes that is
}

// Share is the part of the test-first assumptions that has a result, 0 to 1;
// undefined when there are none.
func (p Progress) Share() engine.Figure {
	if p.TestFirst == 0 {
		return engine.Undefined()
	}
	return engine.Figure(float64(p.Tested) / float64(p.TestFirst))
}

// ProgressOf tells how far the discovery has come at now. Confidence counts
// once its check-in has closed: it is voted unseen. What is to be tested
// first stays what the kickoff's map said: with a moving target nobody could
// tell how far along it is.
func ProgressOf(k flows.Kickoff, now time.Time) Progress {
	p := Progress{Checkin: len(k.Underway.Checkins), Confidence: engine.Undefined()}
	for _, id := range k.InZone(engine.TestFirst) {
		p.TestFirst++
		if isTested(k, id) {
			p.Tested++
		}
	}
	p.DaysLeft, p.Over = daysLeft(k, now)
	for _, c := range k.Underway.Checkins {
		if !c.Closed.IsZero() && len(c.Confidence) > 0 {
			p.Confidence, _ = c.ConfidenceSpread()
			p.Voters = len(c.Confidence)
		}
	}
	return p
}

// isTested reports whether any test of an assumption has a result.
func isTested(k flows.Kickoff, id string) bool {
	return slices.ContainsFunc(k.TestsOf(id), func(t flows.Test) bool {
		_, reported := k.Underway.ResultOf(t.N)
		return reported
	})
}

// daysLeft counts dates where the lead is, since the box ends at the close of
// a working day of theirs.
func daysLeft(k flows.Kickoff, now time.Time) (days int, over bool) {
	ends := k.Timebox.Ends
	if ends.IsZero() {
		return 0, false
	}
	return max(0, workdays.DatesUntil(k.LeadHours(), ends, now)), !now.Before(ends)
}
