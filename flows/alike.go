package flows

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// This file holds the question which assumptions say the same in other words. Comparing
// words finds none of these, so a lead can ask two people, before the list is rated.

// Limits of the question.
const (
	AskedAlike  = 2 // who is asked: one may overlook what the other sees
	FewestAlike = 4 // on the list; of fewer a lead sees it at a glance (common practice, no source)
	MostSets    = 3 // of assumptions that say the same
)

// AskAlike asks two people which assumptions say the same. Each has a working day.
type AskAlike struct {
	ByLead
	People []state.UserID
}

func (i AskAlike) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	until := map[state.UserID]time.Time{}
	for _, u := range i.People {
		p, _ := k.Person(u)
		until[u] = workdays.Had(k.HoursOf(p), now, workday)
	}
	if sent := len(until) > 0 && maps.EqualFunc(until, k.Tidying.Asked, func(_, _ time.Time) bool { return true }); sent {
		return nil, beforeRating(k)
	}
	can := CanBeAskedAlike(k)
	return provided(cmp.Or(
		MayAskAlike(k),
		refuseIf(len(until) != AskedAlike || slices.ContainsFunc(i.People, func(u state.UserID) bool { return !slices.Contains(can, u) }), "people",
			"Choose two people who take part."),
	), event.AlikeAsked{Until: until})
}

// MayAskAlike says, as a refusal, why nobody can be asked now.
func MayAskAlike(k *state.Kickoff) error {
	return cmp.Or(
		beforeRating(k),
		refuseIf(len(k.Tidying.Asked) > 0, "", "You have asked two people already. What they find comes to you."),
		refuseIf(len(k.Listed()) < FewestAlike, "", "The list has fewer than %d entries, so look at it yourself.", FewestAlike),
		refuseIf(len(CanBeAskedAlike(k)) < AskedAlike, "", "There are no two others who take part."),
	)
}

// beforeRating refuses what comes when the list is not put together any more, or not yet.
func beforeRating(k *state.Kickoff) error {
	open := k.Stage == state.StageTidying || k.Stage == state.StageAssumptions
	return refuseIf(!open, "", "The list is not being put together now, so this was not taken.")
}

// CanBeAskedAlike lists who can be asked: all but the leads, who decide on it.
func CanBeAskedAlike(k *state.Kickoff) []state.UserID {
	return lists.Keep(k.Participants(), func(u state.UserID) bool { return !k.IsLead(u) })
}

// SayAlike answers the question.
type SayAlike struct {
	By
	Sets [][]string // at most MostSets, each of two assumptions or more; none: no two say the same
}

func (i SayAlike) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	pairs, err := pairsIn(k, i.Sets)
	found, answered := k.Tidying.Found[i.Who]
	if answered && slices.EqualFunc(found, pairs, slices.Equal) {
		return nil, beforeRating(k)
	}
	return provided(cmp.Or(
		beforeRating(k),
		refuseIf(answered, "", "You have answered this already. Thank you."),
		refuseIf(!state.OwesAlike(k, i.Who), "", "You were not asked this. The lead is %s.", leadName(k)),
		err,
	), event.AlikeFound{Pairs: pairs, Until: workdays.Had(k.LeadHours(), now, workday)})
}

// pairsIn takes sets apart: the first on the list, with each of the others.
func pairsIn(k *state.Kickoff, sets [][]string) ([][]string, error) {
	var pairs [][]string
	listed := state.ListedIDs(k)
	if len(sets) > MostSets {
		return nil, refuse("These are too many at once: at most %d.", MostSets)
	}
	for n, set := range sets {
		field := fmt.Sprintf("set/%d", n+1)
		ids := lists.Keep(listed, func(id string) bool { return slices.Contains(set, id) })
		switch {
		case len(ids) < len(set):
			return nil, refuseField(field, "One of these is not on the list any more. Close this form and open it again.")
		case len(ids) < 2:
			return nil, refuseField(field, "Choose two or more that say the same, or none.")
		}
		for _, id := range ids[1:] {
			if pair := []string{ids[0], id}; !slices.ContainsFunc(pairs, func(p []string) bool { return slices.Equal(p, pair) }) {
				pairs = append(pairs, pair)
			}
		}
	}
	return pairs, nil
}
