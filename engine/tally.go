package engine

import (
	"fmt"
	"math/bits"
	"slices"
)

// A tallier finds medians of ratings of which each is taken as often as its
// rater was drawn, and how the ratings lean about them. It holds the ratings
// of all raters in all columns, and counts one draw or several at once.
type tallier interface {
	// draws is how many draws it counts at once.
	draws() int

	// set says how often each rater was drawn in one of these draws, from 0.
	set(draw int, weights []int32)

	// tally puts the median level of each column in the first len(out) draws into
	// out: twice the median, 2 to 18, or 0 where none of those drawn gave a rating.
	// Medians of ratings are whole or half numbers, so twice the median is a level
	// as it stands. Beside it stands the fine level; equal shares lean alike, since
	// a quotient is the number nearest to it.
	tally(out []reading)

	// another counts the same ratings at the same time, in other draws.
	another() tallier
}

// topMedianLevel is the level of the median 9.
const topMedianLevel = 18

// newTallier takes ratings rater by rater. When none but few raters can be
// drawn, all nine counters of a column fit into one word.
func newTallier(ratings [][]Rating) tallier {
	if len(ratings) <= packedMost {
		return newPackedTally(ratings)
	}
	return newWideTally(ratings)
}

// A wideTally counts many raters. Who gave which rating is the same in every
// draw, so it is laid out once; then one pass over the raters of a column, from
// those who rated 1 to those who rated 9, counts 32 draws, four in a word.
type wideTally struct {
	columns []wideColumn
	weights [][wideWords]uint64 // for each rater
}

// A wideColumn lists who rated a column.
type wideColumn struct {
	raters []int32 // by rising rating
	upto   [10]int // how many of them gave at most each rating
}

const (
	wideWords = 8
	wideLanes = 4         // draws in a word
	wideBits  = 16        // of a draw
	wideMost  = 1<<14 - 1 // raters: twice a count leaves the highest bit of its draw free

	wideOnes   = 1 | 1<<wideBits | 1<<(2*wideBits) | 1<<(3*wideBits)
	wideGuards = wideOnes << (wideBits - 1)
	wideMask   = 1<<wideBits - 1
)

func newWideTally(ratings [][]Rating) *wideTally {
	if len(ratings) > wideMost {
		panic(fmt.Sprintf("engine: table of %d raters; at most %d can be resampled", len(ratings), wideMost))
	}
	t := &wideTally{columns: make([]wideColumn, len(ratings[0])), weights: make([][wideWords]uint64, len(ratings))}
	for _, row := range ratings {
		for c, rating := range row {
			t.columns[c].upto[rating]++
		}
	}
	for c := range t.columns {
		upto := &t.columns[c].upto
		upto[0] = 0 // those who did not rate it
		for rating := 1; rating < len(upto); rating++ {
			upto[rating] += upto[rating-1]
		}
		t.columns[c].raters = make([]int32, upto[9])
	}
	// From the last rater back each takes the last place that is left for the rating.
	for rater, row := range slices.Backward(ratings) {
		for c, rating := range row {
			if column := &t.columns[c]; rating != 0 {
				column.upto[rating]--
				column.raters[column.upto[rating]] = int32(rater)
			}
		}
	}
	for c := range t.columns {
		upto := &t.columns[c].upto // now how many gave less
		copy(upto[:], upto[1:])
		upto[9] = len(t.columns[c].raters)
	}
	return t
}

func (t *wideTally) another() tallier {
	return &wideTally{columns: t.columns, weights: make([][wideWords]uint64, len(t.weights))}
}

func (t *wideTally) draws() int { return wideWords * wideLanes }

func (t *wideTally) set(draw int, weights []int32) {
	word, shift := draw/wideLanes, draw%wideLanes*wideBits
	for rater, weight := range weights {
		all := &t.weights[rater][word]
		*all = *all&^(wideMask<<shift) | uint64(weight)<<shift
	}
}

func (t *wideTally) tally(out []reading) {
	var upto [10][wideWords]uint64 // how many of those drawn gave at most each rating
	for c := range t.columns {
		column := &t.columns[c]
		for rating := 1; rating <= 9; rating++ {
			upto[rating] = addWords(upto[rating-1], t.weights, column.raters[column.upto[rating-1]:column.upto[rating]])
		}
		for draw := 0; draw < len(out); draw += wideLanes {
			medians(&upto, draw/wideLanes, c, out[draw:min(draw+wideLanes, len(out))])
		}
	}
}

// addWords adds the words of some rows to sums, written out so that these stay in registers.
func addWords(sums [wideWords]uint64, words [][wideWords]uint64, rows []int32) [wideWords]uint64 {
	a, b, c, d, e, f, g, h := sums[0], sums[1], sums[2], sums[3], sums[4], sums[5], sums[6], sums[7]
	for _, row := range rows {
		w := &words[row]
		a, b, c, d, e, f, g, h = a+w[0], b+w[1], c+w[2], d+w[3], e+w[4], f+w[5], g+w[6], h+w[7]
	}
	return [wideWords]uint64{a, b, c, d, e, f, g, h}
}

// medians finds the medians of a column in the draws of a word, and how the ratings lean.
// Each of the middle two ratings is 1 more than the number of ratings up to which there
// are not enough counts: of n, not half; or no more than half. All draws of
// the word are compared at once, by the bit that is left where nothing borrows.
func medians(upto *[10][wideWords]uint64, word, column int, out []reading) {
	n := upto[9][word]
	levels := uint64(2 * wideOnes)
	for rating := 1; rating < 9; rating++ {
		spare := (n | wideGuards) - 2*upto[rating][word]
		levels += spare>>(wideBits-1)&wideOnes + (spare-wideOnes)>>(wideBits-1)&wideOnes
	}
	for draw, r := range out {
		shift := draw * wideBits
		all, level := int32(n>>shift&wideMask), int32(levels>>shift&wideMask)
		if all == 0 {
			r.level[column], r.fine[column] = 0, 0
			continue
		}
		below := int32(upto[(level-1)/2][word] >> shift & wideMask)
		notAbove := int32(upto[level/2][word] >> shift & wideMask)
		r.level[column] = level
		r.fine[column] = fineLevel(level, float64(all-notAbove-below)/float64(all))
	}
}

// atMost is 1 when a <= b, else 0, for values from 0.
func atMost(a, b int32) int32 { return int32(uint32(a-b-1) >> 31) }

// A packedTally keeps the nine counters of a column in one word, seven bits
// each: the counter of rating r begins at bit 7(r-1). Of those seven bits
// counts use six; the seventh is there for comparing all counters at once. All
// this halves the time of a draw.
type packedTally struct {
	ratings [][]uint64 // for each rater and column a 1 in the counter of the rating
	counts  []uint64   // for each column
	weights []int32
	inverse [packedMost + 1]uint64
}

const (
	packedMost = 63 // draws that fit a counter

	packedOnes   = 1 | 1<<7 | 1<<14 | 1<<21 | 1<<28 | 1<<35 | 1<<42 | 1<<49 // counters of 1 to 8
	packedGuards = packedOnes << 6
	packedNine   = 56 // where the counter of 9 begins
)

func newPackedTally(ratings [][]Rating) *packedTally {
	t := &packedTally{counts: make([]uint64, len(ratings[0])), inverse: inverses()}
	for _, row := range ratings {
		packed := make([]uint64, len(row))
		for column, rating := range row {
			if rating > 0 {
				packed[column] = 1 << (7 * (rating - 1))
			}
		}
		t.ratings = append(t.ratings, packed)
	}
	return t
}

func (t *packedTally) another() tallier {
	return &packedTally{ratings: t.ratings, counts: make([]uint64, len(t.counts)), inverse: t.inverse}
}

func (t *packedTally) draws() int { return 1 }

func (t *packedTally) set(_ int, weights []int32) { t.weights = weights }

func (t *packedTally) tally(out []reading) {
	counts, weights := t.counts, t.weights
	clear(counts)
	for rater := 0; rater < len(weights); {
		// Four raters at a time save most of the way to the counters.
		var rows [4][]uint64
		var times [4]uint64
		drawn := 0
		for ; rater < len(weights) && drawn < len(rows); rater++ {
			if weights[rater] != 0 {
				rows[drawn], times[drawn] = t.ratings[rater], uint64(weights[rater])
				drawn++
			}
		}
		for ; drawn < len(rows); drawn++ {
			rows[drawn] = t.ratings[0] // no times
		}
		a, b, c, d := rows[0][:len(counts)], rows[1][:len(counts)], rows[2][:len(counts)], rows[3][:len(counts)]
		p, q, r, s := times[0], times[1], times[2], times[3]
		for column := range counts {
			counts[column] += p*a[column] + q*b[column] + r*c[column] + s*d[column]
		}
	}
	levels, fine := out[0].level[:len(counts)], out[0].fine[:len(counts)]
	for column, packed := range counts {
		levels[column], fine[column] = t.medianAndFine(packed)
	}
}

// medianAndFine finds the median of one column as medians does, and the lean in
// whole numbers, as fineLevel would.
func (t *packedTally) medianAndFine(counts uint64) (level, fine int32) {
	upto := counts * (packedOnes | 1<<packedNine) // each counter plus all below
	n := upto >> packedNine & packedMost
	if n == 0 {
		return 0, 0
	}
	firstEight := upto & (1<<packedNine - 1)
	twice := 2 + packedAtMost(firstEight, (n-1)/2) + packedAtMost(firstEight, n/2)
	below := firstEight << 7 >> (7 * uint((twice-1)/2) & 63) & packedMost
	notAbove := upto >> ((7*uint(twice/2) - 7) & 63) & packedMost
	lean := (2*n - notAbove - below) * leanStep * t.inverse[n] >> inverseBits // leans from 0 to 2 here
	return int32(twice), int32(twice)<<leanBits + int32(lean)
}

// inverses are 2^inverseBits/n, rounded up. Numbers below 2^27, as leans of 63
// ratings are, are divided by n exactly when they are multiplied with it and
// shifted: the error stays below 2^27·63, which is less than 2^inverseBits.
func inverses() (inverse [packedMost + 1]uint64) {
	for n := uint64(1); n <= packedMost; n++ {
		inverse[n] = (1<<inverseBits + n - 1) / n
	}
	return inverse
}

const inverseBits = 36

// packedAtMost says how many of the counters of 1 to 8 are at most k: those
// for which 64 + k - counter keeps the bit of the 64. No counter borrows from
// the next.
func packedAtMost(counters, k uint64) int {
	return bits.OnesCount64((packedGuards + k*packedOnes - counters) & packedGuards)
}
