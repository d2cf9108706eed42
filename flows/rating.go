package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
	"soundings/flows/tally"
)

// lastRound is how many blind passes there are at most.
const lastRound = 2

// nothingToRate lets a kickoff go on to the backlog: there is no map of
// nothing.
func nothingToRate(k *state.Kickoff, _ time.Time) bool { return len(k.Listed()) == 0 }

// openFirstRound opens the rating of everything listed.
func openFirstRound(k *state.Kickoff, opened event.StageOpened, _ time.Time) []event.Event {
	opened.Round = 1
	round := event.RoundOpened{N: 1, IDs: state.ListedIDs(k)}
	if round.Each, round.Second = tally.DealOf(k, len(round.IDs)); round.Each > 0 {
		round.Dealt = tally.Deal(k, round.IDs, round.Each)
	}
	return []event.Event{opened, round}
}

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
		refuseIf(!slices.Contains(state.LatestRound(k).IDs, i.Assumption), "", "%s is not asked about in this round.", i.Assumption),
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
	round, again := tally.Round(k)
	counted = []event.Event{round}
	if len(again) == 0 || round.N == lastRound {
		return counted, nil
	}
	stage := openStage(k, state.StageRating, now)
	stage.Round = round.N + 1
	return counted, []event.Event{stage, event.RoundOpened{N: stage.Round, IDs: again}}
}

func gaveRating(k *state.Kickoff, u state.UserID, round int) bool { return len(k.Ballot(round, u)) > 0 }

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
