package event

import (
	"time"

	"soundings/flows/state"
)

// DraftsAsked counts one request for drafts, whether or not any came.
type DraftsAsked struct {
	What       string
	Assumption string `json:",omitempty"` // that they are about
}

func (e DraftsAsked) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	switch e.What {
	case state.DraftPlainer, state.DraftSplit:
		state.Put(k, &k.BeliefDrafts, by, k.BeliefDrafts[by]+1)
	case state.DraftGist:
		k.GistDrafts++
	default:
		k.Framing.Drafts++
	}
}
