package state

import (
	"slices"

	"soundings/engine"
)

// DoerOf is the owner of a test. A test whose owner has left is anybody's: it
// still has to be done, and the plan should say when.
func DoerOf(k *Kickoff, t Test) UserID {
	if k.Takes(t.Owner) {
		return t.Owner
	}
	return ""
}

// CapacityOf is what the people who do tests can give: the core team, and who
// owns a test without being core.
func CapacityOf(k *Kickoff) []engine.Capacity {
	doers := slices.DeleteFunc(k.InRing(Core), func(u UserID) bool { return !k.Takes(u) })
	for _, t := range k.Backlog.Tests {
		if owner := DoerOf(k, t); !t.Withdrawn && owner != "" && !slices.Contains(doers, owner) {
			doers = append(doers, owner)
		}
	}
	team := make([]engine.Capacity, len(doers))
	for i, u := range doers {
		team[i] = engine.Capacity{ID: string(u), Days: k.DaysOf(u)}
	}
	return team
}
