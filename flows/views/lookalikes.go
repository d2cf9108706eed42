// Package views is what screens and reports read off a kickoff and no rule
// decides by: how far a discovery has come, what its tests found, where people
// see their roles differently, which assumptions look alike. Everything that a
// decision hangs on is in package flows. Start with [ProgressOf] and
// [VerdictOf].
package views

import (
	"soundings/flows"
	"soundings/flows/hints"
)

// Lookalikes finds listed assumptions that say much the same as text, the
// nearest first. It suggests; nothing is joined by itself.
func Lookalikes(k flows.Kickoff, text string) []flows.Assumption {
	index := hints.Index{}
	for _, a := range k.Listed() {
		index.Add(a.ID, a.Text)
	}
	var out []flows.Assumption
	for _, m := range index.Similar(text, 3) {
		a, _ := k.Assumption(m.ID)
		out = append(out, a)
	}
	return out
}
