package engine

import "math/bits"

// A tallier finds medians of ratings of which each is taken as often as its
// rater was drawn, and how the ratings lean about them. It holds the ratings
// of all raters in all columns.
type tallier interface {
	// tally puts the median level of each column into out: twice the median,
	// 2 to 18, or 0 where none of those drawn gave a rating. Medians of ratings
	// are whole or half numbers, so twice the median is a level as it stands.
	// Beside it stands the fine level; equal shares lean alike, since a
	// quotient is the number nearest to it.
	tally(weights []int32, out reading)
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

// A wideTally counts in plain integers, for any number of raters.
type wideTally struct {
	ratings [][]Rating
	counts  [][16]int32 // for each column; 16 for the sake of the mask below
}

func newWideTally(ratings [][]Rating) *wideTally {
	return &wideTally{ratings: ratings, counts: make([][16]int32, len(ratings[0]))}
}

func (t *wideTally) tally(weights []int32, out reading) {
	counts := t.counts
	clear(counts)
	for rater, weight := range weights {
		if weight == 0 {
			continue
		}
		row := t.ratings[rater][:len(counts)] // spares the check of every index
		for column := range counts {
			counts[column][row[column]&15] += weight
		}
	}
	for column := range counts {
		level, lean := medianAndLean(&counts[column])
		out.level[column], out.fine[column] = level, fineLevel(level, lean)
	}
}

// medianAndLean is twice the median, of counts by rating, and the lean. Each of the middle two
// ratings is 1 more than the number of ratings up to which there are not
// enough counts; that is added up without branches, which would go either way
// at random.
func medianAndLean(counts *[16]int32) (level int32, lean float64) {
	n := int32(0)
	for _, count := range counts[1:10] {
		n += count
	}
	if n == 0 {
		return 0, 0
	}
	low, high := (n-1)/2, n/2
	level, upto := int32(2), [10]int32{}
	for r, count := range counts[1:9] {
		upto[r+1] = upto[r] + count
		level += atMost(upto[r+1], low) + atMost(upto[r+1], high)
	}
	upto[9] = n
	below, notAbove := upto[(level-1)/2], upto[level/2]
	return level, float64(n-notAbove-below) / float64(n)
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

func (t *packedTally) tally(weights []int32, out reading) {
	counts := t.counts
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
	levels, fine := out.level[:len(counts)], out.fine[:len(counts)]
	for column, packed := range counts {
		levels[column], fine[column] = t.medianAndFine(packed)
	}
}

// medianAndFine does in a word what medianAndLean does in a loop, and in whole
// numbers what fineLevel does.
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
