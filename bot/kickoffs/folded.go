package kickoffs

import (
	"slices"
	"time"

	"soundings/bot/journal"
	"soundings/flows"
	"soundings/flows/event"
	"soundings/flows/state"
)

// A folded is a kickoff as folded up to an entry, and the last steps to it.
type folded struct {
	state.Kickoff
	digest string // of the entry at its Version; empty where a snapshot does not say
	recent []step // oldest first, none missing between them

	keys  map[string][]byte // of boxes that take ballots; never changed in place
	blind bool              // some of their ballots could not be opened
}

// A step is an entry that was folded.
type step struct {
	version int64
	digest  string
	by      state.UserID
	at      time.Time
}

func (s step) sameVersion(other step) bool { return s.version == other.version }

// recentSteps is how many steps are remembered, to say whose are gone where
// the server has lost them. What it loses is what was written within a second
// or a few.
const recentSteps = 64

func (s *Store) empty() folded { return folded{Kickoff: flows.WithZones(state.Kickoff{}, s.Zones)} }

// at is the entry up to which a state was folded.
func (st folded) at() journal.Position {
	return journal.Position{Version: st.Version, Digest: st.digest}
}

// then is the state after further steps, which lead to k.
func (st folded) then(k state.Kickoff, steps ...step) folded {
	if len(steps) == 0 {
		return st
	}
	keep := max(0, recentSteps-len(steps))
	kept := st.recent[max(0, len(st.recent)-keep):]
	steps = steps[max(0, len(steps)-recentSteps):]
	return folded{Kickoff: k, digest: steps[len(steps)-1].digest, recent: slices.Concat(kept, steps), keys: current(k, st.keys)}
}

// fold is the state after further entries, as far as its keys open them. It
// names the boxes that they do not.
func (st folded) fold(entries []journal.Entry) (now folded, records []event.Record, closed map[string]bool, err error) {
	records, closed, err = decode(entries, st.keys)
	if err != nil || len(entries) == 0 {
		return st, nil, nil, err
	}
	steps := make([]step, len(entries))
	for i, e := range entries {
		steps[i] = step{e.Version, journal.Digest(e.Data), records[i].By, records[i].At}
	}
	return st.then(flows.Fold(st.Kickoff, st.Version, records), steps...), records, closed, nil
}
