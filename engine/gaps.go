package engine

import (
	"math"
	"slices"
)

// concordGaps is Kendall's W over ballots that may have gaps, and how many of
// them it rests on: those with two ratings or more. NaN stands for undefined.
//
// It is the generalisation of Brückl M. (2011), Statistische Verfahren zur
// Ermittlung der Urteilerübereinstimmung, in: Altersbedingte Veränderungen der
// Stimme und Sprechweise von Frauen, Berlin: Logos, 88-103, which the package
// irrNA of R computes as well:
//
//	W = (1 + ρ·(k-1)) / k
//
// as for complete ballots (Kendall M.G. 1962, Rank correlation methods, 3rd
// ed., 95), where ρ is the mean of Spearman's coefficients of all pairs of ballots
// over what both rated, each weighed by the number of these less one (Taylor
// J.M.G. 1987, Biometrics 43, 409-416), and k the mean number of ratings that an
// assumption has. A pair in which one rates all alike counts as 0. With ties it
// differs a little from W with its correction, also where nothing is missing, so
// it is no replacement for [Kendall] there. Below 0, which chance can bring
// about, is 0.
func concordGaps(rows [][]Rating) (w float64, ballots int) {
	var kept [][]Rating
	ratings := 0
	for _, row := range rows {
		if n := ratingsIn(row); n > 1 { // one rating is no order
			kept, ratings = append(kept, row), ratings+n
		}
	}
	if len(kept) < 2 || len(kept)*len(kept)*len(kept[0]) > mostPaired || len(kept[0]) > thirdMost {
		return math.NaN(), len(kept)
	}
	sum, weights := 0.0, 0.0
	for _, pair := range correlations(kept) {
		if pair.common > 1 {
			sum, weights = sum+pair.weighed, weights+float64(pair.common-1)
		}
	}
	rated := 0
	for item := range kept[0] {
		if slices.ContainsFunc(kept, func(row []Rating) bool { return row[item] != 0 }) {
			rated++
		}
	}
	k := float64(ratings) / float64(rated)
	if weights == 0 || k <= 1 {
		return math.NaN(), len(kept)
	}
	return min(1, max(0, (1+sum/weights*(k-1))/k)), len(kept)
}

func ratingsIn(row []Rating) (n int) {
	for _, r := range row {
		if r != 0 {
			n++
		}
	}
	return n
}

// mostPaired bounds the work, which grows with the square of the ballots: a
// second or so. A table that large has complete ballots enough.
const mostPaired = 1e9

// A correlation is Spearman's coefficient of two ballots over what both rated.
type correlation struct {
	common  int     // what both rated
	weighed float64 // the coefficient, times common less one
}

// correlations are those of all pairs of ballots: the second with the first, the
// third with the first and with the second, and so on.
//
// Ratings are few, so pairs of them are counted and not sorted, and one ballot beside
// eight others at once. Each of those has, for every item, a word of nine counters of
// seven bits, with a 1 in the counter of its rating. So the sum of the words of what
// the one ballot rated 5 says how often the other rated that 1, 2 and so on.
func correlations(ballots [][]Rating) []correlation {
	pairs := make([]correlation, len(ballots)*(len(ballots)-1)/2)
	words := make([][wideWords]uint64, len(ballots[0]))
	parts := make([][]ballotPart, len(ballots))
	for i, ballot := range ballots {
		parts[i] = partsOf(ballot)
	}
	var counts pairCounts
	for first := 0; first < len(ballots); first += wideWords {
		clear(words)
		others := ballots[first:min(first+wideWords, len(ballots))]
		for lane, other := range others {
			for item, r := range other {
				if r != 0 {
					words[item][lane] = 1 << (countBits * (r - 1))
				}
			}
		}
		for i := first + 1; i < len(ballots); i++ {
			counts.count(words, parts[i])
			for lane := range min(len(others), i-first) {
				pairs[i*(i-1)/2+first+lane] = counts.correlation(lane)
			}
		}
	}
	return pairs
}

// The counters of pairs.
const (
	countBits = 7
	countMost = 1<<countBits - 1
	countOnes = packedOnes | 1<<packedNine

	// Every third counter, so far apart that they can be added up over all items.
	countThirds = countMost | countMost<<21 | countMost<<42
	thirdMost   = 1<<21 - 1
)

// A ballotPart is what a ballot rated alike, no more of it than a counter can count.
type ballotPart struct {
	rating Rating
	items  []int32
}

func partsOf(ballot []Rating) (parts []ballotPart) {
	var items [10][]int32
	for item, r := range ballot {
		items[r] = append(items[r], int32(item))
	}
	for r := Rating(1); r < 10; r++ {
		for some := range slices.Chunk(items[r], countMost) {
			parts = append(parts, ballotPart{r, some})
		}
	}
	return parts
}

// pairCounts counts pairs of ratings of one ballot, part by part, and several others.
type pairCounts struct {
	parts []ballotPart
	sums  [][wideWords]uint64
}

func (p *pairCounts) count(words [][wideWords]uint64, parts []ballotPart) {
	p.parts, p.sums = parts, p.sums[:0]
	for _, part := range parts {
		p.sums = append(p.sums, addWords([wideWords]uint64{}, words, part.items))
	}
}

// correlation is that with one of the others: of mid-ranks, less their mean, and 0
// where one of the two ties all.
func (p *pairCounts) correlation(lane int) correlation {
	var onA, onB [9]int
	var thirds [3]uint64
	for i, part := range p.parts {
		sum := p.sums[i][lane]
		onA[part.rating-1] += int(sum * countOnes >> packedNine & countMost) // all its counters
		for t := range thirds {
			thirds[t] += sum >> (countBits * t) & countThirds
		}
	}
	for r := range onB {
		onB[r] = int(thirds[r%3] >> (21 * (r / 3)) & thirdMost)
	}
	rankA, spreadA, common := doubledRanks(&onA)
	rankB, spreadB, _ := doubledRanks(&onB)
	if spreadA == 0 || spreadB == 0 {
		return correlation{common: common}
	}
	covers := 0
	for i, part := range p.parts {
		sum, all := p.sums[i][lane], 0
		for _, rank := range rankB {
			all += int(sum&countMost) * rank
			sum >>= countBits
		}
		covers += all * rankA[part.rating-1]
	}
	// Whole numbers are exact, which leaves one rounding each to the product, its root
	// and the quotient.
	rho := float64(covers) / 4 / math.Sqrt(float64(spreadA)/4*(float64(spreadB)/4))
	return correlation{common, rho * float64(common-1)}
}

// doubledRanks are the mid-ranks of ratings, less their mean, and doubled, as they are
// halves; the sum of their squares; and how many ratings there are.
func doubledRanks(counts *[9]int) (ranks [9]int, squares, all int) {
	for _, n := range counts {
		all += n
	}
	below := 0
	for r, n := range counts {
		rank := 2*below + n - all
		ranks[r], squares, below = rank, squares+n*rank*rank, below+n
	}
	return ranks, squares, all
}
