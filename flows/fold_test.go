package flows

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/flows/event"
	"soundings/flows/state"
)

// holdFolds holds a journal to what every journal must do: it folds to the
// same state at once, one by one, again, and from a snapshot at any place;
// and folding changes no record.
func holdFolds(t testing.TB, journal []event.Record) state.Kickoff {
	t.Helper()
	before := marshal(t, journal)
	want := Fold(begin(), 0, journal)
	assert.Empty(t, diff(Fold(begin(), 0, journal), want), "folding the same records again gives another state")
	assert.Equal(t, before, marshal(t, journal), "folding changed the records")
	k := begin()
	for i, r := range journal {
		earlier := deepCopy(k)
		next := Apply(k, int64(i+1), r)
		untouched := deepCopy(next)
		Apply(k, int64(i+1), r)
		require.Empty(t, diff(next, untouched), "applying record %d twice changed what came of the first time", i+1)
		require.Empty(t, diff(k, earlier), "applying record %d changed the state it was applied to", i+1)
		k = snapshot(t, next)
	}
	assert.Empty(t, diff(k, want), "folding one by one, through snapshots, gives another state")
	assert.Equal(t, int64(len(journal)), k.Version, "version %d after %d records", k.Version, len(journal))
	holdShut(t, journal)
	return want
}

// holdShut folds a journal whose boxes stay shut, and holds each state to the
// one of somebody who can open them, as soon as these are emptied.
func holdShut(t testing.TB, journal []event.Record) {
	t.Helper()
	open, shut := begin(), begin()
	for i, r := range journal {
		open = Apply(open, int64(i+1), r)
		if r.Box != "" {
			r = event.Record{Box: r.Box, Sealed: []byte("?")}
		}
		shut = Apply(shut, int64(i+1), r)
		if r.Box == "" && len(event.Boxes(&open)) == 0 && (open.Window.Phase != state.PhaseOpen || len(open.Window.Done) == 0) {
			require.Empty(t, diff(shut, open), "record %d does not say all that was in the boxes before it", i+1)
		}
	}
}

// snapshot writes a state as it is kept between starts, and reads it back.
func snapshot(t testing.TB, k state.Kickoff) state.Kickoff {
	t.Helper()
	var back state.Kickoff
	require.NoError(t, json.Unmarshal([]byte(marshal(t, k)), &back), "read a snapshot")
	require.Empty(t, diff(back, k), "the snapshot after record %d is another state", k.Version)
	return WithZones(back, testZones)
}

func marshal(t testing.TB, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	require.NoError(t, err)
	return string(data)
}

// An effect is the same in every replay, or it would happen twice.
func TestReactIsTheSameInEveryReplay(t *testing.T) {
	w := usual(t, "underway")
	k := begin()
	for i, r := range w.journal {
		k = Apply(k, int64(i+1), r)
		first, seen := React(k, r), map[string]bool{}
		assert.Empty(t, diff(first, React(snapshot(t, k), r)), "record %d asks for other effects when read again", i+1)
		for _, e := range first {
			assert.False(t, seen[e.ID()], "record %d asks for %s twice", i+1, e.ID())
			seen[e.ID()] = true
		}
	}
}

// Only ratings commute: what else is decided depends on what was read.
func TestOnlyRatingsCommute(t *testing.T) {
	assert.False(t, event.Commutes(nil), "no events commute, want not: there is nothing to append")
	for _, e := range allEvents(t) {
		_, rated := e.(event.Rated)
		assert.Equal(t, rated, event.Commutes([]event.Event{event.Rated{}, e}), "whether a rating with %s commutes", event.KindOf(e))
	}
}

// A rating that lands after its round has closed is ignored, whatever the
// stage by then.
func TestLateRatingIsIgnored(t *testing.T) {
	for _, stage := range []string{"rating/2", "backlog", "timebox settling", "underway"} {
		w := usual(t, stage)
		late := event.Record{At: w.now, By: "kofi", Events: []event.Event{event.Rated{Round: 1, Assumption: "A2", Scale: state.Importance, Value: 1}}}
		after := Apply(w.k, w.k.Version+1, late)
		before := deepCopy(w.k)
		before.Version++
		assert.Empty(t, diff(after, before), "at %s a rating of round 1 changed the state", stage)
	}
}

// Ratings of two people who rate at the same time fold alike in either order.
func TestRatingsCommute(t *testing.T) {
	w := usual(t, "rating/1")
	a := event.Record{At: w.now, By: "tui", Events: []event.Event{event.Rated{Round: 1, Assumption: "A1", Scale: state.Importance, Value: 9}}}
	b := event.Record{At: w.now, By: "kofi", Events: []event.Event{event.Rated{Round: 1, Assumption: "A1", Scale: state.Importance, Value: 2}}}
	ab, ba := Fold(w.k, w.k.Version, []event.Record{a, b}), Fold(w.k, w.k.Version, []event.Record{b, a})
	assert.Empty(t, diff(ab, ba), "the order of two ratings matters")
}
