package event

import (
	"slices"
	"time"

	"soundings/flows/state"
)

// EntriesLost notes that entries after a version were lost.
type EntriesLost struct {
	After  int64
	People []state.UserID  `json:",omitempty"`
	Strays []state.Posting `json:",omitempty"`
}

func (e EntriesLost) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	if k.Loss.After != e.After {
		k.Loss = state.Loss{After: e.After}
	}
	k.Loss.People = slices.Concat(k.Loss.People, e.People)
	k.Loss.Strays = slices.Concat(k.Loss.Strays, e.Strays)
}
