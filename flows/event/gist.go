package event

import (
	"time"

	"soundings/flows/state"
)

// GistPosted lets a gist stand in the thread of a split.
type GistPosted struct {
	Assumption string
	Text       string
	Drafted    bool `json:",omitempty"`
}

func (e GistPosted) Apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Gists, e.Assumption, state.Gist{By: by, Text: e.Text, Drafted: e.Drafted})
}
