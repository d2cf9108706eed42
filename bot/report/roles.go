package report

import (
	"fmt"

	"soundings/bot/words"
	"soundings/flows"
)

// rolesBlocks is the stakeholder map.
func rolesBlocks(k flows.Kickoff, f form) []Block {
	if k.Roles.Skipped {
		return map[form][]Block{
			inThread: {Para(say("The lead left the roles out of this kickoff."))},
			inFile:   {Para(say("The rings were not asked about in this kickoff."))},
		}[f]
	}
	r := rolesOf(k)
	rings := List{}
	for _, ring := range []struct {
		name, means string
		people      []string
		days        map[string]float64
	}{
		{"Core team", "does the work", r.Core, r.Days}, {"Consulted", "asked before decisions", r.Consulted, nil},
		{"Informed", "told how it goes", r.Informed, nil}, {"Not placed", "did not say", r.Unplaced, nil},
	} {
		switch empty := len(ring.people) == 0; {
		case empty && (f == onCanvas || ring.name == "Not placed"):
		case empty:
			rings.Items = append(rings.Items, say("**%s** (%s): nobody", ring.name, ring.means))
		case f == onCanvas:
			rings.Items = append(rings.Items, say("**%s:** %s", ring.name, f.people(ring.people, nil)))
		default:
			rings.Items = append(rings.Items, say("**%s** (%s): %s", ring.name, ring.means, f.people(ring.people, ring.days)))
		}
	}
	expected := list(r.Missing, f.of(20, 30), func(m missingJSON) Text {
		return say("%s, expected as %s", f.typed(m.Name, 80, 80), words.RingText(flows.Ring(m.Ring)))
	})
	if f == inThread && len(r.Missing) > 0 {
		return []Block{rings, Para(say("**Missing so far**")), expected}
	}
	for _, item := range expected.Items {
		rings.Items = append(rings.Items, say("Missing so far: %s", item))
	}
	return []Block{rings}
}

// people are names, with the days that each can give.
func (f form) people(names []string, days map[string]float64) Text {
	texts := make([]Text, len(names))
	for i, name := range names {
		texts[i] = f.name(name)
		if d, given := days[name]; given {
			texts[i] = say("%s (%s a week)", texts[i], words.Days(d))
		}
	}
	return listed(texts, f.of(40, 60))
}

func rolesGist(k flows.Kickoff) string {
	if k.Roles.Skipped {
		return "Left out of this kickoff"
	}
	r := rolesOf(k)
	return fmt.Sprintf("%d core, %d consulted, %d informed", len(r.Core), len(r.Consulted), len(r.Informed))
}

// Roles is the stakeholder map as it stands in a thread.
func Roles(k flows.Kickoff) []Block { return rolesBlocks(k, inThread) }
