package screens

import (
	"maps"
	"slices"
	"testing"

	"soundings/bot/screens/screen"

	"github.com/slack-go/slack"
)

// What the tests outside of this package look at: they cannot be inside,
// since the local workspace that they use knows this package.

// EveryMessage visits each message at each moment of both plays.
func EveryMessage(t *testing.T, visit func(t *testing.T, name string, p screen.Posting)) {
	t.Helper()
	eachMoment(t, func(t *testing.T, m moment) {
		for _, slot := range append(earlySlots(m.K), laterSlots(m.K)...) {
			if p, err := Message(m.K, slot, m.Now); err == nil { // errors are reported elsewhere
				visit(t, slot.Name(), p)
			}
		}
	})
}

// EveryForm visits each form that opens, for a lead and for somebody else.
func EveryForm(t *testing.T, visit func(t *testing.T, name string, view slack.ModalViewRequest)) {
	t.Helper()
	eachMoment(t, func(t *testing.T, m moment) {
		for _, name := range slices.Sorted(maps.Keys(forms())) {
			for _, viewer := range viewers(m.K)[:2] {
				if view, err := Open(name, pageFor(m, viewer)); err == nil { // refusals are looked at elsewhere
					visit(t, name+" for "+string(viewer), view)
				}
			}
		}
	})
}
