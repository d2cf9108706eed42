package state

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/engine"
)

// What the two sides see differently is told beyond chance, and where neither side is few on
// that scale; the clearest first.
func TestApartOf(t *testing.T) {
	of := func(id string, z, p engine.Figure, core, others int) engine.Contrast {
		return engine.Contrast{ID: id, Z: z, P: p, Ratings: [2]engine.Counts{{0: 2, 7: core}, {3: others}}}
	}
	onEvidence := of("A2", -3, 0.001, 4, 4)
	onEvidence.Evidence = true
	got := ApartOf([]engine.Contrast{
		of("A1", 2.4, 0.05, 4, 4),
		onEvidence,
		of("A3", 2.3, 0.051, 9, 9),
		of("A4", 9, 0.001, 3, 40),
		of("A5", 9, 0.001, 40, 3),
		of("A6", engine.Undefined(), engine.Undefined(), 9, 9),
	})
	assert.Equal(t, []Apart{{"A2", Evidence, false}, {"A1", Importance, true}}, got)
}
