package engine

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What the method is worth, and a guard of it: groups are made up whose
// assumptions have a true importance and a true evidence, and people rate them
// with noise, some strictly, some generously, one in ten at random. How much of
// the truth is found by medians alone, with the lean, and with raters levelled?
// The truth is divided and ordered by the same rule as the ratings. The seeds are
// fixed, so the figures change only with the method.
//
// With an even number of raters a median may be a half, so fewer of them tie (9 of
// 100 pairs with 8 raters, 16 with 5), and the lean has less to tell: that is why it
// gains least there. Equal medians can be told apart better, and still by no more
// than more and less: by the mean rank that an assumption has on each ballot. On
// seeds that were used for nothing else it gained 0.054, 0.029 and 0.038 of the
// zones at 5, 8 and 12 raters where the lean gained 0.037, 0.014 and 0.024, and
// 0.026, 0.012 and 0.017 of the first five beside 0.019, 0.007 and 0.008. Counting
// out the middle again and again (majority judgement) lies between the two. A rank
// needs the whole ballot, so ratings of one assumption alone no longer say where it
// stands; that is why the lean is what it is today.
const (
	recoveryGroups      = 2000
	recoveryAssumptions = 20
	recoveryNoise       = 1.5 // standard deviation of one rating
	recoveryLeaning     = 1.0 // of how strict a person is, on all of a scale
	recoveryRandom      = 0.1 // share of people who rate at random
)

// A truth is what a made-up group would rate if it knew.
type truth struct{ importance, evidence []Figure }

// A list holds what people believe to matter, and mostly do not know: its values
// crowd about the middle of the scale and above, or below. Spread evenly over the
// scale medians tie less, and the lean has less to tell.
func drawTruth(rng *rand.Rand) truth {
	var t truth
	for range recoveryAssumptions {
		t.importance = append(t.importance, Figure(min(max(1, 6+1.5*rng.NormFloat64()), 9)))
		t.evidence = append(t.evidence, Figure(min(max(1, 4.5+1.5*rng.NormFloat64()), 9)))
	}
	return t
}

// rated is the table of a group that knows the truth as well as it can.
func (t truth) rated(rng *rand.Rand, raters int) Table {
	table := randomTable(0, recoveryAssumptions, 0)
	for r := range raters {
		table.Raters = append(table.Raters, fmt.Sprint(r))
		random := rng.Float64() < recoveryRandom
		row := func(of []Figure) []Rating {
			leaning := recoveryLeaning * rng.NormFloat64()
			ratings := make([]Rating, len(of))
			for i, v := range of {
				ratings[i] = Rating(min(max(1, float64(v)+leaning+recoveryNoise*rng.NormFloat64()+0.5), 9))
				if random {
					ratings[i] = Rating(1 + rng.IntN(9))
				}
			}
			return ratings
		}
		table.Importance, table.Evidence = append(table.Importance, row(t.importance)), append(table.Evidence, row(t.evidence))
	}
	return table
}

// A recovery counts what one way of ordering found of the truth.
type recovery struct{ zones, first float64 }

func (r *recovery) add(of, found *arranger) {
	for i := range of.order {
		if of.zone(int32(i)) == found.zone(int32(i)) {
			r.zones += 1.0 / recoveryAssumptions
		}
	}
	for _, i := range found.order[:5] {
		if slices.Contains(of.order[:5], i) {
			r.first += 1.0 / 5
		}
	}
}

// recoveries are the shares of true zones and of the true first five that
// groups find in each way.
func recoveries(raters int) (medians, lean, levelled recovery) {
	rng := rand.New(rand.NewPCG(uint64(raters), 13))
	for range recoveryGroups {
		t := drawTruth(rng)
		of := newArranger(readingOf(t.importance), readingOf(t.evidence), make([]bool, recoveryAssumptions))
		of.arrange()
		w := newScoring(t.rated(rng, raters), Options{})
		w.spreads()
		plain := [2]reading{medianReading(recoveryAssumptions), medianReading(recoveryAssumptions)}
		full := [2]reading{medianReading(recoveryAssumptions), medianReading(recoveryAssumptions)}
		for i, a := range w.scores {
			for scale, s := range []Spread{a.Importance, a.Evidence} {
				full[scale].set(i, &s)
				s.Lean = 0
				plain[scale].set(i, &s)
			}
		}
		x, y := MedianPolish(w.sheet.values(0)), MedianPolish(w.sheet.values(1))
		values := [2][]Figure{undefined(recoveryAssumptions), undefined(recoveryAssumptions)}
		for i := range recoveryAssumptions {
			values[0][i], values[1][i] = x.Levelled(i), y.Levelled(i)
		}
		for _, way := range []struct {
			found                *recovery
			importance, evidence reading
		}{{&medians, plain[0], plain[1]}, {&lean, full[0], full[1]}, {&levelled, readingOf(values[0]), readingOf(values[1])}} {
			found := newArranger(way.importance, way.evidence, w.doubtful())
			found.arrange()
			way.found.add(of, found)
		}
	}
	for _, r := range []*recovery{&medians, &lean, &levelled} {
		r.zones, r.first = r.zones/recoveryGroups, r.first/recoveryGroups
	}
	return medians, lean, levelled
}

// BenchmarkRecovery prints the shares for groups of 5, 8 and 12 people who each
// rate all of 20 assumptions.
func BenchmarkRecovery(b *testing.B) {
	for _, raters := range []int{5, 8, 12} {
		b.Run(fmt.Sprintf("raters=%d", raters), func(b *testing.B) {
			var medians, lean, levelled recovery
			for b.Loop() {
				medians, lean, levelled = recoveries(raters)
			}
			for name, r := range map[string]recovery{"medians": medians, "lean": lean, "levelled": levelled} {
				b.ReportMetric(r.zones, name+"-zones")
				b.ReportMetric(r.first, name+"-first5")
			}
			b.ReportMetric(recoveryAssumptions, "ratings/person")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// The lean must not find less than medians alone, in any size of group.
func TestTheLeanFindsMore(t *testing.T) {
	if testing.Short() {
		t.Skip("made-up groups take a second")
	}
	for _, raters := range []int{5, 8, 12} {
		medians, lean, _ := recoveries(raters)
		assert.Greater(t, lean.zones, medians.zones+0.01, "zones found by %d raters", raters)
		assert.Greater(t, lean.first, medians.first, "of the first five found by %d raters", raters)
	}
}
