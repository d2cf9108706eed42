package state

import (
	"cmp"
	"math"
	"slices"

	"soundings/engine"
)

// Sides say where a map hangs on who rated: a group, or a single ballot. Nobody is told apart
// by them.
type Sides struct {
	Apart   []Apart  `json:",omitempty"` // the clearest first
	Single  bool     `json:",omitempty"` // it was looked whether a single ballot decides
	Pivotal []string `json:",omitempty"` // which of the first three hang on a single ballot, whoever's
}

// An Apart is an assumption that the core team and the others see differently on one scale,
// beyond what chance would bring about. It says which side rates it higher and no figure: of
// a side that is undivided a figure would be everybody's rating.
type Apart struct {
	Assumption string
	Scale      Scale
	CoreHigher bool // the core team rates it higher
}

// rarely is how often chance alone may show a difference in a map that has none (common
// practice, no source).
const rarely = 0.05

// ApartOf tells which of some contrasts between the core team and the others are told: no more
// than by chance rarely, and where neither side is few on that scale.
func ApartOf(contrasts []engine.Contrast) []Apart {
	clearest := slices.Clone(contrasts)
	slices.SortStableFunc(clearest, func(a, b engine.Contrast) int {
		return cmp.Compare(math.Abs(float64(b.Z)), math.Abs(float64(a.Z)))
	})
	var apart []Apart
	for _, c := range clearest {
		if !c.P.Defined() || c.P > rarely || min(c.Ratings[0].N(), c.Ratings[1].N()) < FewestRaters {
			continue
		}
		scale := Importance
		if c.Evidence {
			scale = Evidence
		}
		apart = append(apart, Apart{c.ID, scale, c.Z > 0})
	}
	return apart
}
