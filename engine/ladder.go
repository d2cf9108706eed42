package engine

import (
	"math"
	"slices"
)

// The ends of the abstraction ladder: +2 is the broadest wording of a
// problem, -2 the narrowest, 0 the original.
const (
	LadderBroadest  = 2
	LadderNarrowest = -2
)

// A LadderLevel is the level of the abstraction ladder on which a group
// wishes to work.
type LadderLevel struct {
	Median Figure `json:"median"` // of the votes, undefined without any
	Q1     Figure `json:"q1"`
	Q3     Figure `json:"q3"`
	IQR    Figure `json:"iqr"` // Q3 - Q1: how far apart the middle half is

	// Level is the median, as a whole rung. Without votes it is 0: the
	// original wording stands.
	Level int `json:"level"`

	// HalfStep tells that the median lay half-way between two rungs, and that
	// Level is the narrower of the two.
	HalfStep bool `json:"half_step"`

	N int `json:"n"` // votes counted
}

// Ladder gives the level at which people wish to work, from one vote each:
// the median of the votes with its quartiles (type 7, see [Quantile]).
//
// An even number of votes may have its median half-way between two rungs. The
// narrower one is taken then, since a narrow problem is sooner tested and a
// broad one sooner lost in, and the level is flagged so that the lead can
// decide otherwise (common practice, no source). Votes off the ladder are not
// counted.
func Ladder(votes []int) LadderLevel {
	sorted := onLadder(votes)
	if len(sorted) == 0 {
		return LadderLevel{Median: Undefined(), Q1: Undefined(), Q3: Undefined(), IQR: Undefined()}
	}
	median, q1, q3 := Quantile(sorted, 0.5), Quantile(sorted, 0.25), Quantile(sorted, 0.75)
	rung := math.Floor(median)
	return LadderLevel{
		Median: Figure(median), Q1: Figure(q1), Q3: Figure(q3), IQR: Figure(q3 - q1),
		Level: int(rung), HalfStep: rung != median, N: len(sorted),
	}
}

// onLadder gives the votes that name a rung, narrowest first.
func onLadder(votes []int) []float64 {
	var on []float64
	for _, v := range votes {
		if v >= LadderNarrowest && v <= LadderBroadest {
			on = append(on, float64(v))
		}
	}
	slices.Sort(on)
	return on
}
