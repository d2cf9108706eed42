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
func drawTruth(rng *rand.Rand, assumptions int) truth {
	var t truth
	for range assumptions {
		t.importance = append(t.importance, Figure(min(max(1, 6+1.5*rng.NormFloat64()), 9)))
		t.evidence = append(t.evidence, Figure(min(max(1, 4.5+1.5*rng.NormFloat64()), 9)))
	}
	return t
}

// arranged is the truth as the ratings are: divided and ordered by the same rule.
func (t truth) arranged() *arranger {
	a := newArranger(readingOf(t.importance), readingOf(t.evidence), make([]bool, len(t.importance)))
	a.arrange()
	return a
}

// rated is the table of a group that knows the truth as well as it can.
func (t truth) rated(rng *rand.Rand, raters int) Table {
	table := randomTable(0, len(t.importance), 0)
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
			r.zones += 1 / float64(len(of.order))
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
func recoveries(raters int, seed uint64) (medians, lean, levelled recovery) {
	rng := rand.New(rand.NewPCG(uint64(raters), seed))
	for range recoveryGroups {
		t := drawTruth(rng, recoveryAssumptions)
		of := t.arranged()
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
// rate all of 20 assumptions, and for 12 people and 40 assumptions that are dealt out.
func BenchmarkRecovery(b *testing.B) {
	for _, raters := range []int{5, 8, 12} {
		b.Run(fmt.Sprintf("raters=%d", raters), func(b *testing.B) {
			var medians, lean, levelled recovery
			for b.Loop() {
				medians, lean, levelled = recoveries(raters, 13)
			}
			for name, r := range map[string]recovery{"medians": medians, "lean": lean, "levelled": levelled} {
				b.ReportMetric(r.zones, name+"-zones")
				b.ReportMetric(r.first, name+"-first5")
			}
			b.ReportMetric(recoveryAssumptions, "ratings/person")
			b.ReportMetric(0, "ns/op")
		})
	}
	b.Run(fmt.Sprintf("dealt,raters=%d", dealtRaters), benchmarkDealt)
}

// The lean must not find less than medians alone, in any size of group.
func TestTheLeanFindsMore(t *testing.T) {
	if testing.Short() {
		t.Skip("made-up groups take a second")
	}
	for _, raters := range []int{5, 8, 12} {
		medians, lean, _ := recoveries(raters, 13)
		assert.Greater(t, lean.zones, medians.zones+0.01, "zones found by %d raters", raters)
		assert.Greater(t, lean.first, medians.first, "of the first five found by %d raters", raters)
	}
}

// A list of 40 is long for one sitting. The group of 12 rates it dealt out, 15 to
// each, and then everybody the contenders and the splits.
const (
	dealtAssumptions = 40
	dealtRaters      = 12
	dealtEach        = 15
	dealtSecond      = 12
)

// dealtRecoveries are what full ballots find and what dealt ones do after the first
// sitting and after the second, and how many ratings a person gives in both.
func dealtRecoveries(seed uint64, groups int) (full, first, second recovery, ratings float64) {
	rng := rand.New(rand.NewPCG(seed, 13))
	shares := Deal(dealing(dealtAssumptions, dealtRaters, dealtEach))
	for range groups {
		t := drawTruth(rng, dealtAssumptions)
		of, whole := t.arranged(), t.rated(rng, dealtRaters)
		full.addTable(of, whole, Options{})
		asked := timesOf(shares, dealtAssumptions)
		table, o := only(whole, func(r, a int) bool { return slices.Contains(shares[r], a) }), Options{Draws: 500}
		for _, n := range asked {
			o.Dealt = append(o.Dealt, Dealt{Asked: n, Raters: n})
		}
		first.addTable(of, table, o)
		again := Contenders(table, o, 5, dealtSecond)
		for _, a := range Score(table, Options{Draws: 1, Dealt: o.Dealt}).Assumptions {
			if a.Importance.Agreement == Split || a.Evidence.Agreement == Split {
				again = append(again, a.ID)
			}
		}
		slices.Sort(again)
		again = slices.Compact(again)
		for i, id := range table.IDs {
			if slices.Contains(again, id) {
				o.Dealt[i] = Dealt{Asked: dealtRaters, Raters: dealtRaters}
			}
		}
		second.addTable(of, only(whole, func(r, a int) bool { return slices.Contains(shares[r], a) || slices.Contains(again, table.IDs[a]) }), o)
		ratings += float64(dealtEach+len(again)) / float64(groups)
	}
	for _, r := range []*recovery{&full, &first, &second} {
		r.zones, r.first = r.zones/float64(groups), r.first/float64(groups)
	}
	return full, first, second, ratings
}

// addTable adds what a table finds.
func (r *recovery) addTable(of *arranger, t Table, o Options) {
	w := newScoring(t, o)
	w.spreads()
	found := [2]reading{medianReading(len(t.IDs)), medianReading(len(t.IDs))}
	for i, a := range w.scores {
		found[0].set(i, &a.Importance)
		found[1].set(i, &a.Evidence)
	}
	a := newArranger(found[0], found[1], w.doubtful())
	a.arrange()
	r.add(of, a)
}

// only leaves of a table the ratings that were asked for.
func only(t Table, asked func(rater, assumption int) bool) Table {
	part := t
	part.Importance, part.Evidence = nil, nil
	for r := range t.Raters {
		importance, evidence := slices.Clone(t.Importance[r]), slices.Clone(t.Evidence[r])
		for a := range t.IDs {
			if !asked(r, a) {
				importance[a], evidence[a] = 0, 0
			}
		}
		part.Importance, part.Evidence = append(part.Importance, importance), append(part.Evidence, evidence)
	}
	return part
}

// benchmarkDealt prints what full ballots find, and dealt ones.
func benchmarkDealt(b *testing.B) {
	var full, first, second recovery
	var ratings float64
	for b.Loop() {
		full, first, second, ratings = dealtRecoveries(13, 2000)
	}
	for name, r := range map[string]recovery{"full": full, "one-sitting": first, "two-sittings": second} {
		b.ReportMetric(r.zones, name+"-zones")
		b.ReportMetric(r.first, name+"-first5")
	}
	b.ReportMetric(second.first/full.first, "of-full")
	b.ReportMetric(ratings, "ratings/person")
	b.ReportMetric(0, "ns/op")
}

// Dealt ballots and a second sitting find nearly what full ballots do, with at
// most 70 of 100 ratings.
func TestDealtBallotsFindTheFirst(t *testing.T) {
	if testing.Short() {
		t.Skip("made-up groups take a second")
	}
	full, first, second, ratings := dealtRecoveries(13, 300)
	assert.GreaterOrEqual(t, second.first, 0.95*full.first, "of the first five")
	assert.Greater(t, second.first, first.first+0.05, "of what one sitting finds")
	assert.LessOrEqual(t, ratings, 0.7*dealtAssumptions)
}
