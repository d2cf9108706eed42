package engine

import "math/bits"

// A tallier finds medians of ratings of which each is taken as often as its
// rater was drawn. It holds the ratings of all raters in all columns.
type tallier interface {
	// levels puts the median level of each column into out: twice the median,
	// 2 to 18, or 0 where none of those drawn gave a rating. Medians of ratings
	// are whole or half numbers, so twice the median is a level as it stands.
	levels(weights []int32, out []int32)
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

func (t *wideTally) levels(weights []int32, out []int32) {
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
		out[column] = medianLevel(&counts[column])
	}
}

// medianLevel is twice the median, of counts by rating. Each of the middle two
// ratings is 1 more than the number of ratings up to which there are not
// enough counts; that is added up without branches, which would go either way
// at random.
func medianLevel(counts *[16]int32) int32 {
	n := int32(0)
	for _, count := range counts[1:10] {
		n += count
	}
	if n == 0 {
		return 0
	}
	low, high := (n-1)/2, n/2
	level, upto := int32(2), int32(0)
	for _, count := range counts[1:9] {
		upto += count
		level += atMost(upto, low) + atMost(upto, high)
	}
	return level
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
}

const (
	packedMost = 63 // draws that fit a counter

	packedOnes   = 1 | 1<<7 | 1<<14 | 1<<21 | 1<<28 | 1<<35 | 1<<42 | 1<<49 // counters of 1 to 8
	packedGuards = packedOnes << 6
	packedNine   = 56 // where the counter of 9 begins
)

func newPackedTally(ratings [][]Rating) *packedTally {
	t := &packedTally{counts: make([]uint64, len(ratings[0]))}
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

func (t *packedTally) levels(weights []int32, out []int32) {
	counts := t.counts
	clear(counts)
	for rater, weight := range weights {
		if weight == 0 {
			continue
		}
		row := t.ratings[rater][:len(counts)]
		for column := range counts {
			counts[column] += uint64(weight) * row[column]
		}
	}
	for column, packed := range counts {
		out[column] = packedLevel(packed)
	}
}

// packedLevel does in a word what medianLevel does in a loop.
func packedLevel(counts uint64) int32 {
	upto := counts * (packedOnes | 1<<packedNine) // each counter plus all below
	n := upto >> packedNine & packedMost
	if n == 0 {
		return 0
	}
	upto &= 1<<packedNine - 1
	return int32(2 + packedAtMost(upto, (n-1)/2) + packedAtMost(upto, n/2))
}

// packedAtMost says how many of the counters of 1 to 8 are at most k: those
// for which 64 + k - counter keeps the bit of the 64. No counter borrows from
// the next.
func packedAtMost(counters, k uint64) int {
	return bits.OnesCount64((packedGuards + k*packedOnes - counters) & packedGuards)
}
