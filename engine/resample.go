package engine

import (
	"math/bits"
	"math/rand/v2"
	"runtime"
	"sync"
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
// Draws are made one after the other and counted in any order, by several
// resamplers at once where the table is large: the counts are the same however many
// there are. Nothing is allocated per draw.
type resampler struct {
	source   *drawSource
	weights  []int32   // how often each rater was drawn
	tallier  tallier   // of the importance of every item, and then the evidence
	found    []reading // what it found in each draw that it counts at once
	doubtful []bool
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
	return resamplerOf(newTallier(ratings), &drawSource{random: rand.NewPCG(seed, 0)}, len(ratings), doubtful)
}

func resamplerOf(t tallier, source *drawSource, raters int, doubtful []bool) *resampler {
	items := len(doubtful)
	r := &resampler{
		source:   source,
		weights:  make([]int32, raters),
		tallier:  t,
		doubtful: doubtful,
		arranger: newArranger(medianReading(0), medianReading(0), doubtful),
	}
	for range t.draws() {
		r.found = append(r.found, medianReading(2*items))
	}
	return r
}

// A drawSource makes draws for those who count them.
type drawSource struct {
	sync.Mutex
	random *rand.PCG
	left   int // draws to be made
}

// next makes as many draws as are counted at once, or as are left, and calls visit
// with the test order of each in r.order. It reports whether there were any.
func (r *resampler) next(visit func()) bool {
	drawn := r.draws()
	if drawn == 0 {
		return false
	}
	r.tallier.tally(r.found[:drawn])
	for draw := range drawn {
		r.read(draw)
		r.arrange()
		visit()
	}
	return true
}

// read lays the medians of a draw before the arranger.
func (r *resampler) read(draw int) {
	found, items := &r.found[draw], len(r.order)
	r.importance.level, r.importance.fine = found.level[:items], found.fine[:items]
	r.evidence.level, r.evidence.fine = found.level[items:], found.fine[items:]
}

// draws makes the next draws for the tallier, and says how many.
func (r *resampler) draws() int {
	r.source.Lock()
	defer r.source.Unlock()
	n := min(r.tallier.draws(), r.source.left)
	for draw := range n {
		r.draw()
		r.tallier.set(draw, r.weights)
	}
	r.source.left -= n
	return n
}

// draw picks as many raters as there are, with replacement.
func (r *resampler) draw() {
	clear(r.weights)
	for range r.weights {
		// The top of a 128-bit product is uniform but for a share of
		// raters/2^64, far below anything that draws could show.
		rater, _ := bits.Mul64(r.source.random.Uint64(), uint64(len(r.weights)))
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

// largeResample is how many weights have to be added up before a second processor
// is worth having: some tenths of a second.
const largeResample = 1 << 27

// resample makes draws resamples.
func (r *resampler) resample(draws int) *rankShares {
	counters := 1
	if draws*len(r.order)*len(r.weights) >= largeResample {
		counters = runtime.GOMAXPROCS(0)
	}
	return r.resampleBy(draws, counters)
}

// resampleBy makes draws resamples, which so many count at once.
func (r *resampler) resampleBy(draws, counters int) *rankShares {
	items := len(r.order)
	shares := &rankShares{draws: draws, items: items, ranks: make([]int32, items*items)}
	r.source.left = draws
	var counting sync.Mutex
	work := func(w *resampler) {
		count := func() {
			counting.Lock()
			defer counting.Unlock()
			for rank, item := range w.order {
				shares.ranks[int(item)*items+rank]++
			}
		}
		for w.next(count) {
		}
	}
	var others sync.WaitGroup
	for range counters - 1 {
		other := resamplerOf(r.tallier.another(), r.source, len(r.weights), r.doubtful)
		others.Go(func() { work(other) })
	}
	work(r)
	others.Wait()
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
