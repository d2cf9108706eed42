package state

import "slices"

// LeavesOut reports whether a kickoff passes a stage over.
func (k *Kickoff) LeavesOut(s Stage) bool {
	return slices.Contains(k.LeftOut, s) && !(s == StageAssumptions && len(k.Listed()) == 0)
}

// EndedWithSummary reports whether a kickoff without a time box came to its end.
func EndedWithSummary(k *Kickoff) bool {
	n := len(k.Past)
	return k.Stage == StageEnded && k.Timebox.Starts.IsZero() && n > 0 && k.Past[n-1].Stage == StageClose && k.Past[n-1].Why != ClosedAbandoned
}
