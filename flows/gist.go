package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// FewestReasons is how many unsigned reasons a gist takes: one alone would be
// said again in other words, and two hide who wrote which.
const FewestReasons = 2

// maxGist is how long a gist may be, in characters: two sentences, each as
// long as two lines on a phone.
const maxGist = 600

// PostGist puts a gist of the unsigned reasons into the thread of a split, or
// another in its place. The lead answers for it, a machine's draft or not.
type PostGist struct {
	ByLead
	Assumption string
	Text       string
	Drafted    bool // it is a machine's draft, unedited
}

func (i PostGist) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(canSumUp(k, i.Assumption), checkText("gist", "gist", i.Text, maxGist, true)); err != nil {
		return nil, err
	}
	sent := k.Gists[i.Assumption] == state.Gist{By: i.Who, Text: i.Text, Drafted: i.Drafted} // after an answer that was lost
	return when(!sent, event.GistPosted{Assumption: i.Assumption, Text: i.Text, Drafted: i.Drafted})
}

func canSumUp(k *state.Kickoff, id string) error {
	return cmp.Or(wasSplit(k, id), refuseIf(len(k.UnsignedReasons(id)) < FewestReasons, "",
		"%s has fewer than %d reasons without a name, so there is nothing to sum up yet.", id, FewestReasons))
}

// wasSplit refuses an assumption that was split in no round.
func wasSplit(k *state.Kickoff, id string) error {
	split := slices.ContainsFunc(k.Rounds, func(r state.Round) bool { return slices.Contains(r.Splits, id) })
	return refuseIf(!split, "", "There is no open talk about %s.", id)
}

// ToSumUp lists the split assumptions of which a gist can be made, in the
// order in which they were added.
func ToSumUp(k *state.Kickoff) []string {
	var ids []string
	for _, a := range k.Assumptions {
		if canSumUp(k, a.ID) == nil {
			ids = append(ids, a.ID)
		}
	}
	return ids
}

// afterGist says what should follow from what unsigned reasons say.
func afterGist(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.GistPosted:
		b.showUnder(ScreenGist, e.Assumption, Slot{Screen: ScreenSplit, Arg: e.Assumption}.Name())
	}
}
