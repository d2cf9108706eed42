package views

import (
	"slices"

	"soundings/flows"
)

// A RoleGap is something about the rings that the lead should settle.
type RoleGap struct {
	Person   flows.UserID // empty when nobody is core
	Self     flows.Ring   // empty when they did not say
	Expected flows.Ring
	By       flows.UserID // who expects it
}

// RoleGaps lists where self-placement and others' expectation differ. A gap
// without a person says that nobody placed themselves in the core.
func RoleGaps(k flows.Kickoff) []RoleGap {
	var gaps []RoleGap
	core := false
	for _, u := range k.Participants() {
		core = core || k.RingOf(u) == flows.Core
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
func Missing(k flows.Kickoff) []flows.NamedPerson {
	var out []flows.NamedPerson
	for _, n := range k.Roles.Named {
		known := n.User != "" && k.Takes(n.User)
		again := slices.ContainsFunc(out, n.Same)
		if !known && !again {
			out = append(out, n)
		}
	}
	return out
}
