package screens

import (
	"encoding/json"
	"maps"
	"slices"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/require"

	"soundings/bot/screens/screen"
)

// What the tests outside of this package look at: they cannot be inside,
// since the local workspace that they use knows this package.

// news reports of everything that is drawn whether nothing was drawn like it before.
func news(t *testing.T) func(drawn any) bool {
	seen := map[string]bool{}
	return func(drawn any) bool {
		data, err := json.Marshal(drawn)
		require.NoError(t, err)
		before := seen[string(data)]
		seen[string(data)] = true
		return !before
	}
}

// EveryMessage visits each message at each moment of both plays that is not as one before.
func EveryMessage(t *testing.T, visit func(t *testing.T, name string, p screen.Posting)) {
	t.Helper()
	isNew := news(t)
	eachMoment(t, func(t *testing.T, m moment) {
		for _, slot := range append(earlySlots(m.K), laterSlots(m.K)...) {
			if p, err := Message(m.K, slot, m.Now); err == nil && isNew(p) { // errors are reported elsewhere
				visit(t, slot.Name(), p)
			}
		}
	})
}

// EveryForm visits each form that opens, for a lead and for somebody else, and is not
// as one before.
func EveryForm(t *testing.T, visit func(t *testing.T, name string, view slack.ModalViewRequest)) {
	t.Helper()
	isNew := news(t)
	eachMoment(t, func(t *testing.T, m moment) {
		for _, name := range slices.Sorted(maps.Keys(forms())) {
			for _, viewer := range viewers(m.K)[:2] {
				if view, err := Open(name, pageFor(m, viewer)); err == nil && isNew(view) { // refusals are looked at elsewhere
					visit(t, name+" for "+string(viewer), view)
				}
			}
		}
	})
}
