package engine

// A tally finds medians of ratings of which each is taken as often as its
// rater was drawn.
type tally struct {
	ratings [][]Rating  // of all raters in all columns
	counts  [][16]int32 // for each column; 16 for the sake of the mask below
}

func newTally(ratings [][]Rating) *tally {
	return &tally{ratings: ratings, counts: make([][16]int32, len(ratings[0]))}
}

// topMedianLevel is the level of the median 9.
const topMedianLevel = 18

// levels puts the median level of each column into out: twice the median,
// 2 to 18, or 0 where none of those drawn gave a rating. Medians of ratings
// are whole or half numbers, so twice the median is a level as it stands.
func (t *tally) levels(weights []int32, out []int32) {
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
