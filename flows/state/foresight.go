package state

import (
	"slices"

	"soundings/engine"
)

// A Foresight is what people expect of a test before it has a result.
type Foresight struct {
	Said    map[UserID]int `json:",omitempty"` // one of Shares; until they are counted
	Counted *Expected      `json:",omitempty"` // what they came to, when the first result came in
}

// Shares are what can be expected of a test, in percent: each the middle of a fifth.
// Of a share it is the share, of a figure or a yes how likely it is that it is met.
func Shares() []int { return []int{10, 30, 50, 70, 90} }

// Expected is what a group expected of a test, in percent.
type Expected struct {
	N           int                    // who said something
	Median, IQR engine.Figure          // undefined where few did: one answer alone is its own median
	Of          []int                  `json:",omitempty"` // how many said each of Shares; nil where few did
	Rings       map[Ring]RingsExpected `json:",omitempty"` // of rings that are not few themselves, and do not leave few
}

// RingsExpected is what those of one ring expected.
type RingsExpected struct {
	N      int
	Median engine.Figure
}

// ExpectedOf counts what people said of a test, with what may be told of it.
func ExpectedOf(k *Kickoff, said map[UserID]int) Expected {
	out := Expected{N: len(said), Median: engine.Undefined(), IQR: engine.Undefined()}
	if out.N < FewestRaters {
		return out
	}
	out.Median, out.IQR = SpreadOf(said)
	out.Of = make([]int, len(Shares()))
	ofRing := map[Ring]map[UserID]int{}
	for u, share := range said {
		out.Of[slices.Index(Shares(), share)]++
		if ring := k.RingOf(u); ofRing[ring] == nil {
			ofRing[ring] = map[UserID]int{u: share}
		} else {
			ofRing[ring][u] = share
		}
	}
	for ring, of := range ofRing {
		others := out.N - len(of)
		if ring == "" || len(of) < FewestRaters || others > 0 && others < FewestRaters {
			continue
		}
		if out.Rings == nil {
			out.Rings = map[Ring]RingsExpected{}
		}
		median, _ := SpreadOf(of)
		out.Rings[ring] = RingsExpected{len(of), median}
	}
	return out
}

// Each lists what was said, in rising order; nil where few said something.
func (e Expected) Each() []int {
	var out []int
	for i, n := range e.Of {
		out = append(out, slices.Repeat([]int{Shares()[i]}, n)...)
	}
	return out
}
