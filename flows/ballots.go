package flows

import (
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// Records are the entries as which a decision on an intent is written down:
// what goes into a box by itself, so that the rest can be read by everybody.
// What an answer brings about, such as the end of its window, is then nobody's
// doing, since it would tell whose answer was the last.
func Records(k state.Kickoff, in Intent, events []event.Event, at time.Time) []event.Record {
	return event.RecordsOf(&k, Author(in), events, at)
}

// afterBallots says what should follow from ballots being counted.
func afterBallots(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.BallotsEmptied:
		// The key goes before anything is shown: what the platform has against a message
		// must not keep it.
		if keys := (Effect{Do: DestroyKeys}); !slices.Contains(b.effects, keys) {
			b.effects = slices.Insert(b.effects, 0, keys)
		}
	}
}
