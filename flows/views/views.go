// Package views is what screens and reports read off a kickoff and no rule
// decides by: how far a discovery has come, what its tests found, where people
// see their roles differently, which assumptions look alike. Everything that a
// decision hangs on is in package flows. Start with [ProgressOf] and
// [Calibration].
package views

import (
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/hints"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// Lookalikes finds listed assumptions that say much the same as text, the
// nearest first. It suggests; nothing is joined by itself.
func Lookalikes(k state.Kickoff, text string) []state.Assumption {
	index := hints.Index{}
	for _, a := range k.Listed() {
		index.Add(a.ID, a.Text)
	}
	var out []state.Assumption
	for _, m := range index.Similar(text, 3) {
		a, _ := k.Assumption(m.ID)
		out = append(out, a)
	}
	return out
}

// A Progress is how far a discovery has come.
type Progress struct {
	TestFirst  int        // assumptions that the kickoff's map puts first
	Tested     int        // of these, how many have a result
	DaysLeft   int        // dates until the box ends: 1 when it ends tomorrow, 0 on its last day and after
	Over       bool       // the box has ended
	Checkin    int        // the last check-in that was opened; 0 when none was
	Confidence state.Said // of the last closed check-in with votes
}

// ProgressOf tells how far the discovery has come at now. Confidence counts
// once its check-in has closed: it is voted unseen. What is to be tested
// first stays what the kickoff's map said: with a moving target nobody could
// tell how far along it is.
func ProgressOf(k state.Kickoff, now time.Time) Progress {
	p := Progress{Checkin: len(k.Underway.Checkins), Confidence: state.SaidOf(nil)}
	for _, id := range k.InZone(engine.TestFirst) {
		p.TestFirst++
		if state.VerdictOf(&k, id) != "" {
			p.Tested++
		}
	}
	p.DaysLeft, p.Over = daysLeft(k, now)
	for _, c := range k.Underway.Checkins {
		if said := state.ConfidenceOf(c); !c.Closed.IsZero() && said.N > 0 {
			p.Confidence = said
		}
	}
	return p
}

// daysLeft counts dates where the lead is, since the box ends at the close of
// a working day of theirs.
func daysLeft(k state.Kickoff, now time.Time) (days int, over bool) {
	ends := k.Timebox.Ends
	if ends.IsZero() {
		return 0, false
	}
	return max(0, workdays.DatesUntil(k.LeadHours(), ends, now)), !now.Before(ends)
}

// A RoleGap is something about the rings that the lead should settle.
type RoleGap struct {
	Person   state.UserID // empty when nobody is core
	Self     state.Ring   // empty when they did not say
	Expected state.Ring
	By       state.UserID // who expects it
}

// RoleGaps lists where self-placement and others' expectation differ. A gap
// without a person says that nobody placed themselves in the core.
func RoleGaps(k state.Kickoff) []RoleGap {
	var gaps []RoleGap
	core := false
	for _, u := range k.Participants() {
		core = core || k.RingOf(u) == state.Core
	}
	if !core {
		gaps = append(gaps, RoleGap{})
	}
	for _, n := range k.Roles.Named {
		if n.User != "" && k.Takes(n.User) && k.Roles.Self[n.User] != n.Ring {
			gaps = append(gaps, RoleGap{Person: n.User, Self: k.Roles.Self[n.User], Expected: n.Ring, By: n.By})
		}
	}
	return gaps
}

// Missing lists the named who do not take part, each once.
func Missing(k state.Kickoff) []state.NamedPerson {
	var out []state.NamedPerson
	for _, n := range k.Roles.Named {
		known := n.User != "" && k.Takes(n.User)
		again := slices.ContainsFunc(out, n.Same)
		if !known && !again {
			out = append(out, n)
		}
	}
	return out
}

// Calibration lays the ratings of the kickoff beside what the tests found.
// The zones are those of the kickoff's map, whatever was learnt since.
func Calibration(k state.Kickoff) engine.Calibration {
	m := k.Map()
	if m == nil {
		return engine.Calibrate(nil)
	}
	outcomes := make([]engine.Outcome, len(m.Assumptions))
	for i, a := range m.Assumptions {
		outcomes[i] = engine.Outcome{ID: a.ID, Zone: a.Zone, Known: a.Known, Verdict: state.VerdictOf(&k, a.ID)}
	}
	return engine.Calibrate(outcomes)
}

// KindsOf is the kind of risk that most saw in an assumption. Several kinds
// mean a tie, in the order of flows.Kinds; none means that nobody voted.
func KindsOf(b state.Backlog, assumption string) []state.Kind {
	counts := map[state.Kind]int{}
	most := 0
	for _, kind := range b.Kinds[assumption] {
		counts[kind]++
		most = max(most, counts[kind])
	}
	return slices.DeleteFunc(state.Kinds(), func(kind state.Kind) bool { return most == 0 || counts[kind] < most })
}

// OpenQuestions lists the questions about a brief without an answer.
func OpenQuestions(b state.Brief) []state.Question {
	return slices.DeleteFunc(slices.Clone(b.Questions), func(q state.Question) bool { return q.Answer != "" })
}
