package flows

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// The store may lose the last entries, as in a failover to a copy that lagged.
// What they said never was. Those who had answered are named to the leads, so
// that they can be asked again; and what showed it is taken away.

// ReportLoss reports that the store has lost entries, and what had come of
// them.
type ReportLoss struct {
	FromShell
	After  int64                    // everything up to this version is intact
	People []state.UserID           // whose entries are gone
	Posted map[string]state.Posting // where messages stand, by slot
	Extras state.Extras             // what stands beside them
}

func (i ReportLoss) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if k.Stage == "" {
		return nil, nil
	}
	lost := event.EntriesLost{After: i.After}
	known := k.Loss
	if known.After != i.After {
		known = state.Loss{}
	}
	for _, u := range i.People {
		if !slices.Contains(known.People, u) {
			lost.People = append(lost.People, u)
		}
	}
	stand := map[state.Posting]bool{}
	for _, at := range k.Posted {
		stand[at] = true
	}
	for _, at := range i.Posted {
		if !stand[at] && !slices.Contains(known.Strays, at) {
			lost.Strays = append(lost.Strays, at)
		}
	}
	if k.Loss.After == i.After && len(lost.People)+len(lost.Strays) == 0 {
		return nil, nil // another process has reported it
	}
	slices.SortFunc(lost.Strays, func(a, b state.Posting) int {
		return cmp.Or(cmp.Compare(a.TS, b.TS), cmp.Compare(a.Channel, b.Channel))
	})
	events := []event.Event{lost}
	// What stands beside the messages, and only once, is taken over.
	if id := i.Extras.Canvas; id != "" && k.Extras.Canvas == "" {
		events = append(events, event.CanvasMade{ID: id})
	}
	if id := i.Extras.Bookmark; id != "" && k.Extras.Bookmark == "" {
		events = append(events, event.BookmarkAdded{ID: id})
	}
	return events, nil
}

// afterLost says what should follow from entries being lost.
func afterLost(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.EntriesLost:
		b.add(Effect{Do: Redraw})
		b.tellLeads(ScreenLoss, strconv.FormatInt(b.k.Loss.After, 10))
	}
}
