package tally

import (
	"slices"

	"soundings/engine"
	"soundings/flows/state"
)

// told is how many assumptions a map gives the first places to, in words.
const told = 3

// mostAlone is how many ballots are left out one after the other: among more a single one
// decides nothing that is worth a sentence.
const mostAlone = 50

// sidesOf says where the map of a round hangs on who rated. It treats all ballots of one side
// alike, and the single ones too, so it gives none of them away: what the lead's own ballot
// brings about, said by itself, would tell what the lead had rated.
func sidesOf(k *state.Kickoff, table engine.Table, options engine.Options) state.Sides {
	if state.LatestRound(k).Each > 0 {
		return state.Sides{} // of a first sitting nothing is told
	}
	core := make([]bool, len(table.Raters))
	for i, u := range table.Raters {
		core[i] = k.RingOf(state.UserID(u)) == state.Core
	}
	var sides state.Sides
	if slices.Contains(core, true) && slices.Contains(core, false) {
		sides.Apart = state.ApartOf(engine.Contrasts(table, core, resampleSeed))
	}
	sides.Single = len(table.Raters) > state.FewestRaters && len(table.Raters) <= mostAlone && options.Dealt == nil && len(table.IDs) > told
	if sides.Single {
		sides.Pivotal = engine.Pivotal(table, options, told)
	}
	return sides
}
