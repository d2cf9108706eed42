package tally

import (
	"slices"

	"soundings/engine"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// ToPlace lists the assumptions that a check-in lays on the map: those that were
// added before it opened and have no place yet.
func ToPlace(k *state.Kickoff, checkin int) []string {
	if k.Map() == nil {
		return nil
	}
	var ids []string
	for _, a := range k.Listed() {
		if _, placed := k.Scored(a.ID); a.Since > 0 && a.Since <= checkin && !placed {
			ids = append(ids, a.ID)
		}
	}
	return ids
}

// Places lays on the map what was rated at a check-in for the first time, on
// the cuts of the map as it stands.
func Places(k *state.Kickoff, c *state.Checkin) []engine.AssumptionScore {
	var placed []engine.AssumptionScore
	for _, id := range ToPlace(k, c.N) {
		var importance, evidence engine.Counts
		for _, ratings := range c.Rated {
			if m := ratings[id]; m.Importance > 0 {
				importance[m.Importance]++
			}
			if m := ratings[id]; m.Evidence > 0 {
				evidence[m.Evidence]++
			}
		}
		few := min(importance.N(), evidence.N())
		if few < state.FewestRaters {
			importance, evidence = state.ByThirds(importance), state.ByThirds(evidence)
		}
		if i, e := importance.Spread(), evidence.Spread(); few > 1 { // of one alone, its place would tell the rating
			placed = append(placed, state.ScoreWithoutFew(k.Map().Place(id, i, e, len(lists.Keep(k.InRing(state.Core), k.Rates)))))
		}
	}
	return placed
}

// Moves lists what moved on the map at a check-in. The cuts stay those of the kickoff's
// map: with new cuts at each check-in nothing would seem to move. What is rated anew
// stands for itself, with how many rated it: whose ratings of the kickoff it could replace
// is not known any more.
func Moves(k *state.Kickoff, c *state.Checkin) []state.Move {
	var moves []state.Move
	if m := state.MappedRound(k); m != nil {
		for _, a := range slices.Concat(m.Result.Assumptions, state.Placed(k)) {
			var said engine.Counts
			for _, ratings := range c.Evidence {
				if value, rated := ratings[a.ID]; rated {
					said[value]++
				}
			}
			if move, moved := moveOf(k, m, a, said); moved {
				moves = append(moves, move)
			}
		}
	}
	return moves
}

// moveOf is what came of rating the evidence of an assumption anew. Where few did, it is
// listed whatever they said: whether it is would tell.
func moveOf(k *state.Kickoff, m *state.Round, a engine.AssumptionScore, said engine.Counts) (state.Move, bool) {
	from, zone := evidenceNow(k, a)
	to := said.Spread()
	move := state.Move{Assumption: a.ID, From: from, To: to.Median, Raters: to.N, ZoneFrom: zone, ZoneTo: zone}
	if few := to.N < state.FewestRaters; few {
		third, coarse := state.Few(said)
		move.To, move.Third, to = engine.Undefined(), third, coarse.Spread()
	} else if from == to.Median {
		return move, false
	}
	if to.N > 0 {
		move.ZoneTo = state.ZoneWith(m, a, to)
		if m.Rule == state.ByLean {
			move.Doubt = m.Result.DoubtAlone(a, to)
		}
	}
	return move, move.Raters > 0
}

// evidenceNow is the median evidence of an assumption and its zone as they
// stand: where they last moved to, or those of the map.
func evidenceNow(k *state.Kickoff, a engine.AssumptionScore) (engine.Figure, engine.Zone) {
	evidence, zone := a.Evidence.Median, a.Zone
	for _, c := range k.Underway.Checkins {
		if m, moved := lists.Find(c.Moves(), func(m state.Move) bool { return m.Assumption == a.ID }); moved {
			zone = m.ZoneTo
			if m.To.Defined() {
				evidence = m.To
			}
		}
	}
	return evidence, zone
}
