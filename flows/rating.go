package flows

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// lastRound is how many blind passes there are at most.
const lastRound = 2

// nothingToRate lets a kickoff go on to the backlog: there is no map of
// nothing.
func nothingToRate(k *state.Kickoff) bool { return len(k.Listed()) == 0 }

// openFirstRound opens the rating of everything listed.
func openFirstRound(k *state.Kickoff, opened event.StageOpened, _ time.Time) []event.Event {
	opened.Round = 1
	round := event.RoundOpened{N: 1, IDs: state.ListedIDs(k)}
	if round.Each, round.Second = DealOf(k, len(round.IDs)); round.Each > 0 {
		round.Dealt = deal(k, round.IDs, round.Each)
	}
	return []event.Event{opened, round}
}

// latestRound is the open round, or the last one.
func latestRound(k *state.Kickoff) *state.Round { return &k.Rounds[len(k.Rounds)-1] }

// Rate enters one rating on a ballot. It is saved at once, and replaces what
// was entered before.
type Rate struct {
	By
	Round      int
	Assumption string
	Scale      state.Scale
	Value      int // 1 to 9, CantSay, or 0 to clear it

	// Because is what solid evidence rests on: a few words or a link, shown unsigned once
	// the round is counted. Empty leaves what was said before.
	Because string
}

func (i Rate) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canAnswer(k, state.StageRating); err != nil {
		return nil, err
	}
	return provided(cmp.Or(
		stillRound(k, i.Round),
		mayRate(k, i.Who),
		refuseIf(!slices.Contains(latestRound(k).IDs, i.Assumption), "", "%s is not asked about in this round.", i.Assumption),
		refuseIf(i.Scale != state.Importance && i.Scale != state.Evidence, "", "A rating is about importance or about evidence."),
		refuseIf(i.Value < state.CantSay || i.Value > 9, "", "A rating is a whole number from 1 to 9, or “can't say”."),
		checkText("because", "reason", i.Because, MaxSentence, false),
		refuseIf(i.Because != "" && (i.Scale != state.Evidence || i.Value < state.SolidEvidence), "because",
			"Only a rating of evidence of %d or more takes a reason.", state.SolidEvidence),
	), event.Rated{Round: i.Round, Assumption: i.Assumption, Scale: i.Scale, Value: i.Value, Because: i.Because})
}

// mayRate refuses the ratings of a lead who chose that the others rate, at check-ins too.
func mayRate(k *state.Kickoff, u state.UserID) error {
	return refuseIf(!k.Rates(u), "", "You chose that the others rate without you, so your ratings are not taken.")
}

// countRound makes the map of the round that closes, and opens a second one
// when something is split, or the list was dealt out. There is no third: what is
// still split then is worth a conversation, not another number.
func countRound(k *state.Kickoff, now time.Time) (counted, opened []event.Event) {
	r := latestRound(k)
	table, options := ratingTable(k), engine.Options{Asked: len(k.Window.Asked), Seed: resampleSeed, Dealt: askedAbout(k)}
	result := engine.Score(table, options)
	var splits []string
	for _, a := range result.Assumptions {
		if a.Importance.Agreement == engine.Split || a.Evidence.Agreement == engine.Split {
			splits = append(splits, a.ID)
		}
	}
	counted = []event.Event{event.RoundCounted{N: r.N, Result: state.WithoutFew(result), Splits: splits, Camps: state.SplitCamps(k, result), Rule: state.ByLean, Partly: partly(k, r), Because: becauses(k), Sides: sidesOf(k, table, options)}}
	again := splits
	if r.Each > 0 && result.Raters > 0 {
		contenders := engine.Contenders(table, options, firstPlaces, r.Second)
		again = lists.Keep(r.IDs, func(id string) bool { return slices.Contains(splits, id) || slices.Contains(contenders, id) })
	}
	if len(again) == 0 || r.N == lastRound {
		return counted, nil
	}
	stage := openStage(k, state.StageRating, now)
	stage.Round = r.N + 1
	return counted, []event.Event{stage, event.RoundOpened{N: stage.Round, IDs: again}}
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

func gaveRating(k *state.Kickoff, u state.UserID, round int) bool { return len(k.Ballot(round, u)) > 0 }

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

// afterRating says what should follow from ratings.
func afterRating(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.RoundCounted:
		result := Slot{Screen: ScreenResult, Arg: StageArg(state.StageRating, e.N)}
		b.add(Effect{Do: Show, Slot: result})
		if !state.Interim(b.k, e.N) {
			b.showUnder(ScreenRatings, result.Arg, result.Name())
			b.add(Effect{Do: ShareMap, Slot: result})
		}
		if e.N == 1 {
			for _, id := range e.Splits {
				b.show(ScreenSplit, id)
			}
		}
	case event.ReasonGiven:
		b.reasonGiven(e)
	}
}
