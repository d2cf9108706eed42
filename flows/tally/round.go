package tally

import (
	"maps"
	"slices"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// firstPlaces is how many a map has to get right: those that are tested first.
const firstPlaces = 5

// Round is the map that the ballots so far make, and what is worth rating once more:
// what is split, and of a list that was dealt out what could still be among the first.
func Round(k *state.Kickoff) (counted event.RoundCounted, again []string) {
	r := state.LatestRound(k)
	table, options := ratingTable(k), engine.Options{Asked: len(k.Window.Asked), Seed: resampleSeed, Dealt: askedAbout(k)}
	result := engine.Score(table, options)
	var splits []string
	for _, a := range result.Assumptions {
		if a.Importance.Agreement == engine.Split || a.Evidence.Agreement == engine.Split {
			splits = append(splits, a.ID)
		}
	}
	counted = event.RoundCounted{N: r.N, Result: state.WithoutFew(result), Splits: splits, Camps: state.SplitCamps(k, result), Rule: state.ByLean,
		Partly: partly(k, r), Because: becauses(k), Sides: sidesOf(k, table, options)}
	if r.Each == 0 || result.Raters == 0 {
		return counted, splits
	}
	contenders := engine.Contenders(table, options, firstPlaces, r.Second)
	return counted, lists.Keep(r.IDs, func(id string) bool { return slices.Contains(splits, id) || slices.Contains(contenders, id) })
}

// becauses are what people said that the evidence of an assumption rests on.
func becauses(k *state.Kickoff) map[string][]string {
	var said map[string][]string
	for _, p := range k.People {
		for id, m := range combinedBallot(k, p.ID) {
			if m.Because == "" {
				continue
			}
			if said == nil {
				said = map[string][]string{}
			}
			said[id] = append(said[id], m.Because)
		}
	}
	for _, texts := range said {
		slices.Sort(texts)
	}
	return said
}

// partly counts those who answered for less than half of what the first round asked
// them. In a second one whatever is left blank stands as it was.
func partly(k *state.Kickoff, r *state.Round) (n int) {
	if r.N > 1 {
		return 0
	}
	for _, p := range k.People {
		share, answered := r.Share(p.ID), 0
		for _, id := range share {
			if m := r.Ballots[p.ID][id]; m.Importance != 0 && m.Evidence != 0 {
				answered++
			}
		}
		if len(r.Ballots[p.ID]) > 0 && 2*answered < len(share) {
			n++
		}
	}
	return n
}

// resampleSeed is fixed, so that everyone who folds the journal sees the
// same shares.
const resampleSeed = 1

// ratingTable lays out the ratings of all rounds so far: a later entry replaces an
// earlier one, and who did not answer a later round keeps the earlier.
// People who have left still count: they judged when they were asked.
func ratingTable(k *state.Kickoff) engine.Table {
	var t engine.Table
	first := k.Rounds[0]
	for _, id := range first.IDs {
		a, _ := k.Assumption(id)
		t.IDs = append(t.IDs, id)
		t.Statements = append(t.Statements, a.Text)
	}
	for _, p := range k.People {
		ballot := combinedBallot(k, p.ID)
		if len(ballot) == 0 {
			continue
		}
		importance, evidence := make([]engine.Rating, len(t.IDs)), make([]engine.Rating, len(t.IDs))
		for i, id := range t.IDs {
			importance[i], evidence[i] = rating(ballot[id].Importance), rating(ballot[id].Evidence)
		}
		t.Raters = append(t.Raters, string(p.ID))
		t.Importance, t.Evidence = append(t.Importance, importance), append(t.Evidence, evidence)
	}
	return t
}

func combinedBallot(k *state.Kickoff, u state.UserID) map[string]state.Marking {
	ballot := map[string]state.Marking{}
	for _, r := range k.Rounds {
		for id, m := range r.Ballots[u] {
			old := ballot[id]
			if m.Importance == 0 {
				m.Importance = old.Importance
			}
			if m.Evidence == 0 {
				m.Evidence, m.Because = old.Evidence, old.Because
			}
			ballot[id] = m
		}
	}
	maps.DeleteFunc(ballot, func(_ string, m state.Marking) bool { return m == state.Marking{} })
	return ballot
}

func rating(entry int) engine.Rating {
	if entry == state.CantSay {
		return 0
	}
	return engine.Rating(entry)
}

// askedAbout counts, for each assumption of the first round, who was asked about
// it in any round, and who of these has rated anything; nil where all were.
func askedAbout(k *state.Kickoff) []engine.Dealt {
	first, last := k.Rounds[0], state.LatestRound(k)
	if first.Each == 0 {
		return nil
	}
	asked := make([]engine.Dealt, len(first.IDs))
	for _, p := range k.People {
		ballot := combinedBallot(k, p.ID)
		again := last.N > 1 && slices.Contains(k.Window.Asked, p.ID)
		for i, id := range first.IDs {
			dealt := !p.Gone && slices.Contains(first.Dealt[p.ID], id)
			if !lists.Has(ballot, id) && !dealt && !(again && slices.Contains(last.IDs, id)) {
				continue
			}
			asked[i].Asked++
			if len(ballot) > 0 {
				asked[i].Raters++
			}
		}
	}
	return asked
}
