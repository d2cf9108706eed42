package report

import (
	"fmt"

	"soundings/bot/words"
	"soundings/flows/state"
)

// Roles is the stakeholder map.
func Roles(k state.Kickoff) []Block {
	if k.LeavesOut(state.StageRoles) {
		return []Block{para("The lead left the roles out of this kickoff.")}
	}
	r := rolesOf(k)
	rings := List{Items: []Text{ring("Core team", "does the work", r.Core, r.Days),
		ring("Consulted", "asked before decisions", r.Consulted, nil), ring("Informed", "told how it goes", r.Informed, nil)}}
	if len(r.Unplaced) > 0 {
		rings.Items = append(rings.Items, ring("Not placed", "did not say", r.Unplaced, nil))
	}
	if len(r.Missing) == 0 {
		return []Block{rings}
	}
	return []Block{rings, para("**Missing so far**"), list(r.Missing, 20, func(m missing) Text {
		return say("%s, expected as %s", clip(string(m.Name), 80), words.RingText(m.Ring))
	})}
}

// ring is a ring with its people, and the days that each can give.
func ring(title, means string, people []typed, days map[typed]float64) Text {
	if len(people) == 0 {
		return say("**%s** (%s): nobody", title, means)
	}
	return say("**%s** (%s): %s", title, means, listed(each(people, func(n typed) Text {
		if d, given := days[n]; given {
			return say("%s (%s a week)", name(string(n)), words.Days(d))
		}
		return name(string(n))
	}), 40))
}

func rolesGist(k state.Kickoff) string {
	if k.LeavesOut(state.StageRoles) {
		return "Left out of this kickoff"
	}
	r := rolesOf(k)
	return fmt.Sprintf("%d core, %d consulted, %d informed", len(r.Core), len(r.Consulted), len(r.Informed))
}
