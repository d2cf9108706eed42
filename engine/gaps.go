package engine

import "math"

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
	rated, ratings := map[int]bool{}, 0
	var kept [][]Rating
	for _, row := range rows {
		n := 0
		for _, r := range row {
			if r != 0 {
				n++
			}
		}
		if n < 2 {
			continue // one rating is no order
		}
		kept, ratings = append(kept, row), ratings+n
		for i, r := range row {
			if r != 0 {
				rated[i] = true
			}
		}
	}
	if len(kept) < 2 || len(kept)*len(kept)*len(kept[0]) > mostPaired {
		return math.NaN(), len(kept)
	}
	sum, weights := 0.0, 0.0
	for i, a := range kept {
		for _, b := range kept[:i] {
			if rho, common := spearman(a, b); common > 1 {
				sum, weights = sum+rho*float64(common-1), weights+float64(common-1)
			}
		}
	}
	k := float64(ratings) / float64(len(rated))
	if weights == 0 || k <= 1 {
		return math.NaN(), len(kept)
	}
	return min(1, max(0, (1+sum/weights*(k-1))/k)), len(kept)
}

// mostPaired bounds the work, which grows with the square of the ballots: a
// second or so. A table that large has complete ballots enough.
const mostPaired = 1e9

// spearman is the rank correlation of two ballots over what both rated, with
// mid-ranks for ties, and how many that are; 0 where one of them ties all.
// Ratings are few, so pairs of them are counted and not sorted.
func spearman(a, b []Rating) (rho float64, common int) {
	var pairs [16 * 16]int32 // so many that no index has to be checked
	b = b[:len(a)]
	for i, x := range a {
		pairs[uint8(x)<<4|uint8(b[i])]++
	}
	var both [10][10]int
	var onA, onB [10]int
	for x := 1; x < 10; x++ {
		for y := 1; y < 10; y++ {
			n := int(pairs[x<<4|y])
			both[x][y], onA[x], onB[y], common = n, onA[x]+n, onB[y]+n, common+n
		}
	}
	rankA, rankB := midRanks(onA), midRanks(onB)
	var covers, spreadA, spreadB float64
	for x := range rankA {
		spreadA += float64(onA[x]) * rankA[x] * rankA[x]
		spreadB += float64(onB[x]) * rankB[x] * rankB[x]
		for y, n := range both[x] {
			covers += float64(n) * rankA[x] * rankB[y]
		}
	}
	if spreadA == 0 || spreadB == 0 {
		return 0, common
	}
	return covers / math.Sqrt(spreadA*spreadB), common
}

// midRanks are the ranks of ratings, less their mean.
func midRanks(counts [10]int) (ranks [10]float64) {
	all := 0
	for _, n := range counts {
		all += n
	}
	below := 0
	for r, n := range counts {
		ranks[r] = float64(below) + float64(n+1)/2 - float64(all+1)/2
		below += n
	}
	return ranks
}
