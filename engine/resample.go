package engine

import (
	"math/bits"
	"math/rand/v2"
)

// defaultDraws is the number of resamples when none is asked for.
const defaultDraws = 2000

// A resampler asks how much the test order hangs on who happened to rate: it
// draws as many raters as there are, with replacement, orders the items by the
// ratings of those drawn, and counts the ranks (the bootstrap; Hall P. & Miller
// H. 2009, Annals of Statistics 37, 3929-3959, on what it can tell of ranks).
//
// The result is a share of resamples, never a confidence. Where items tie or
// nearly tie, the plain bootstrap of ranks does not cover the true order as
// often as it seems to (Mogstad M. et al. 2024, Review of Economic Studies).
//
// Nothing is allocated per draw.
type resampler struct {
	random  *rand.PCG
	weights []int32 // how often each rater was drawn
	tallier tallier // of the importance of every item, and then the evidence
	found   reading // what it found
	*arranger
}

// newResampler draws from the raters of s, of whom there must be one or more,
// and orders the given columns of it. Whose evidence is doubtful stays as it is
// in the whole table: what a few of the raters say is no better known.
func newResampler(s *sheet, columns []int, doubtful []bool, seed uint64) *resampler {
	ratings := make([][]Rating, s.raters())
	for rater := range ratings {
		ratings[rater] = append(pick(s.scales[0][rater], columns), pick(s.scales[1][rater], columns)...)
	}
	n := len(columns)
	both := medianReading(2 * n)
	importance, evidence := both, both
	importance.level, importance.fine = both.level[:n], both.fine[:n]
	evidence.level, evidence.fine = both.level[n:], both.fine[n:]
	return &resampler{
		random:   rand.NewPCG(seed, 0),
		weights:  make([]int32, s.raters()),
		tallier:  newTallier(ratings),
		found:    both,
		arranger: newArranger(importance, evidence, doubtful),
	}
}

// next draws once and leaves the test order in r.order.
func (r *resampler) next() {
	r.draw()
	r.tallier.tally(r.weights, r.found)
	r.arrange()
}

// draw picks as many raters as there are, with replacement.
func (r *resampler) draw() {
	clear(r.weights)
	for range r.weights {
		// The top of a 128-bit product is uniform but for a share of
		// raters/2^64, far below anything that draws could show.
		rater, _ := bits.Mul64(r.random.Uint64(), uint64(len(r.weights)))
		r.weights[rater]++
	}
}

// rankShares counts, over a number of draws, how often each item took each
// rank.
type rankShares struct {
	draws int
	items int
	ranks []int32 // item by item, the draws by rank
}

// resample makes draws resamples.
func (r *resampler) resample(draws int) *rankShares {
	items := len(r.order)
	shares := &rankShares{draws: draws, items: items, ranks: make([]int32, items*items)}
	for range draws {
		r.next()
		for rank, item := range r.order {
			shares.ranks[int(item)*items+rank]++
		}
	}
	return shares
}

func (s *rankShares) of(item int) []int32 { return s.ranks[item*s.items:][:s.items] }

// top is the share of draws in which the item is among the first k.
func (s *rankShares) top(k, item int) Figure {
	within := int32(0)
	for _, count := range s.of(item)[:min(k, s.items)] {
		within += count
	}
	return Figure(float64(within) / float64(s.draws))
}

// point is the rank that the item reaches or betters in at least
// percent of 100 draws: the type 1 quantile, always a rank that occurred.
func (s *rankShares) point(percent, item int) Place {
	reached := 0
	for rank, count := range s.of(item) {
		reached += int(count)
		if 100*reached >= percent*s.draws {
			return Place(rank + 1)
		}
	}
	return Place(s.items)
}
