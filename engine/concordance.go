package engine

import (
	"cmp"
	"math"
	"slices"
)

// Kendall is the coefficient of concordance W of several ballots: how far they
// put the same items into the same order. Every ballot holds one value for each
// item, all in the same places; only the order of values within a ballot counts. NaN stands for no
// value, and a ballot that has one is left out and counted.
//
// With m complete ballots of n items, mid-ranks for ties, the rank sums R and
// T = Σ(t³-t) over every group of t tied values in every ballot,
//
//	W = 12·Σ(R - m(n+1)/2)² / (m²(n³-n) - m·T)    χ² = m(n-1)·W    on n-1 df
//
// W lies in 0 to 1. Without the correction by T even equal ballots would not
// reach 1 where they hold ties, as ratings do. P is the upper tail of the
// chi-square distribution, which is cautious for few ballots.
//
// W, χ² and P are undefined with fewer than two complete ballots (one ballot
// agrees with itself and says nothing), with fewer than two items, and when
// every ballot ties all items.
//
// Sources: Kendall M.G. & Babington Smith B. (1939), Annals of Mathematical
// Statistics 10, 275-287; Legendre P. (2005), JABES 10(2), 226-245.
func Kendall(ballots [][]float64) Concordance {
	c := Concordance{W: Undefined(), Chi2: Undefined(), P: Undefined()}
	var r rankSums
	for _, ballot := range ballots {
		if slices.ContainsFunc(ballot, math.IsNaN) {
			c.LeftOut++
			continue
		}
		r.add(ballot)
	}
	c.Ballots = r.ballots
	if len(ballots) > 0 {
		c.DF = max(0, len(ballots[0])-1)
	}
	if w := r.concordance(); !math.IsNaN(w) {
		chi2 := float64(r.ballots*c.DF) * w
		c.W, c.Chi2, c.P = Figure(w), Figure(chi2), Figure(chiSquareTail(chi2, c.DF))
	}
	c.WAll, c.BallotsAll = c.W, c.Ballots // Score takes those with gaps in
	return c
}

// rankSums adds up the ranks that each item has on all ballots. Mid-ranks are
// halves, so everything is kept twice, in whole numbers.
type rankSums struct {
	ballots int
	twice   []int // for each item, the doubled sum of its ranks
	ties    int   // Σ(t³-t)
}

func (r *rankSums) add(ballot []float64) {
	if r.twice == nil {
		r.twice = make([]int, len(ballot))
	}
	r.ballots++
	order := places(len(ballot)) // of the items, by value
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(ballot[a], ballot[b]) })
	for first := 0; first < len(order); {
		end := first + 1
		for end < len(order) && ballot[order[end]] == ballot[order[first]] {
			end++
		}
		for _, item := range order[first:end] {
			r.twice[item] += first + 1 + end // a group of equals has one rank, here doubled
		}
		t := end - first
		r.ties += t*t*t - t
		first = end
	}
}

// concordance is W, or NaN where it is undefined.
func (r *rankSums) concordance() float64 {
	m, n := r.ballots, len(r.twice)
	most := m*m*(n*n*n-n) - m*r.ties
	if m < 2 || most == 0 {
		return math.NaN()
	}
	squares := 0
	for _, twice := range r.twice {
		squares += (twice - m*(n+1)) * (twice - m*(n+1))
	}
	return 3 * float64(squares) / float64(most)
}
