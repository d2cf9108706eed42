package engine

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
)

// A Contrast is how far two groups of raters see one assumption differently on one scale.
type Contrast struct {
	ID       string
	Evidence bool      // the scale: else importance
	Ratings  [2]Counts // of either group
	Z        Figure    // above 0 where the first group rates it higher; in standard deviations of chance
	P        Figure    // the chance of a contrast as large anywhere in the table, if the groups did not matter
}

// Contrasts compares two groups of raters: those for whom first is true, and the others. It gives
// both scales of every assumption in the order of the table, importance first.
//
// Z is Wilcoxon's rank sum of the first group, with mid-ranks for ties, less what chance
// expects and over its standard deviation (Wilcoxon F. 1945, Biometrics Bulletin 1(6),
// 80-83). Whoever gave no rating counts as the mean rank, so that they speak for nothing; and
// so does a ballot that is flat on the scale, see [FlatAt]: it sees nothing differently.
//
// Of twenty assumptions two or three would look different by chance alone. So P is the share
// of all ways to put as many of the raters into the first group in which the largest |Z| of
// the whole table is at least as large: the single-step maxT of Westfall P.H. & Young S.S.
// (1993), Resampling-Based Multiple Testing, from memory. It keeps whole ballots together, so
// it takes into account that assumptions are rated alike, and needs no distribution: of four
// beside four people it can be as small as 2 in 70.
//
// Where the ways are many, some are drawn, and the one that is counts among them (Phipson B. &
// Smyth G.K. 2010, Statistical Applications in Genetics and Molecular Biology 9(1), 39, from memory).
func Contrasts(t Table, first []bool, seed uint64) []Contrast {
	t.mustFit()
	if len(first) != len(t.Raters) {
		panic("engine: groups are of other raters than the table")
	}
	g := newGrouping(t, first)
	largest := g.largest(seed)
	for i := range g.contrasts {
		c := &g.contrasts[i]
		if !c.Z.Defined() {
			continue
		}
		at, _ := slices.BinarySearch(largest, math.Abs(float64(c.Z))-tolerance)
		c.P = Figure(float64(len(largest)-at) / float64(len(largest)))
	}
	return g.contrasts
}

// A grouping has the raters in a fixed order, each with a score for every contrast: the rank
// of the rating among all, less the mean, over the standard deviation of a group's sum.
type grouping struct {
	contrasts []Contrast
	scores    [][]float64
	inFirst   int
}

func newGrouping(t Table, first []bool) *grouping {
	g := &grouping{}
	order := ratersByName(t)
	for _, rater := range order {
		g.scores = append(g.scores, make([]float64, 2*len(t.IDs)))
		if first[rater] {
			g.inFirst++
		}
	}
	scales := [][][]Rating{slices.Clone(t.Importance), slices.Clone(t.Evidence)}
	for _, of := range scales {
		for rater := range of {
			if FlatAt(of[rater]) != 0 { // it is on no side
				of[rater] = make([]Rating, len(t.IDs))
			}
		}
	}
	for i, id := range t.IDs {
		for scale, of := range scales {
			c := Contrast{ID: id, Evidence: scale == 1, Z: Undefined(), P: Undefined()}
			ratings := make([]Rating, len(order))
			for at, rater := range order {
				ratings[at] = of[rater][i]
				if first[rater] {
					c.Ratings[0][ratings[at]]++
				} else {
					c.Ratings[1][ratings[at]]++
				}
			}
			if g.standardise(ratings, len(g.contrasts)) {
				c.Z = 0
				for at, rater := range order {
					if first[rater] {
						c.Z += Figure(g.scores[at][len(g.contrasts)])
					}
				}
			}
			g.contrasts = append(g.contrasts, c)
		}
	}
	return g
}

// standardise enters the scores of one contrast. It reports whether there are any: not where
// all rate alike, or all raters are in one group.
func (g *grouping) standardise(ratings []Rating, contrast int) bool {
	var counts [10]int
	for _, r := range ratings {
		counts[r]++
	}
	counts[0] = 0
	ninth := [9]int(counts[1:])
	ranks, squares, _ := doubledRanks(&ninth)
	n, m := float64(len(ratings)), float64(g.inFirst)
	if squares == 0 || m == 0 || m == n {
		return false
	}
	deviation := math.Sqrt(m * (n - m) / (n * (n - 1)) * float64(squares))
	for at, r := range ratings {
		if r != 0 {
			g.scores[at][contrast] = float64(ranks[r-1]) / deviation
		}
	}
	return true
}

// How many ways to make groups are gone through, or drawn where there are more. Large tables
// have fewer draws, so that they stay below a second.
const (
	mostWays    = 20_000
	fewestDraws = 500
	mostAdded   = 400_000_000
)

// largest is the largest |Z| of each way to make the groups, in rising order.
func (g *grouping) largest(seed uint64) []float64 {
	n := len(g.scores)
	var all []float64
	if ways(n, g.inFirst) <= mostWays {
		g.each(0, g.inFirst, make([]float64, len(g.contrasts)), func(sums []float64) { all = append(all, largestOf(sums)) })
		slices.Sort(all)
		return all
	}
	draws := min(max(fewestDraws, mostAdded/(n*len(g.contrasts))), mostWays) - 1
	random := rand.NewPCG(seed, 0)
	raters := places(n)
	for range draws {
		sums := make([]float64, len(g.contrasts))
		for i := range g.inFirst {
			left, _ := bits.Mul64(random.Uint64(), uint64(n-i))
			raters[i], raters[i+int(left)] = raters[i+int(left)], raters[i]
			add(sums, g.scores[raters[i]])
		}
		all = append(all, largestOf(sums))
	}
	asIs := 0.0
	for _, c := range g.contrasts {
		if c.Z.Defined() {
			asIs = max(asIs, math.Abs(float64(c.Z)))
		}
	}
	all = append(all, asIs)
	slices.Sort(all)
	return all
}

// each visits the sums of every way to take so many of the raters from one on.
func (g *grouping) each(from, take int, sums []float64, visit func([]float64)) {
	if take == 0 {
		visit(sums)
		return
	}
	for at := from; at <= len(g.scores)-take; at++ {
		with := slices.Clone(sums)
		add(with, g.scores[at])
		g.each(at+1, take-1, with, visit)
	}
}

func add(sums, scores []float64) {
	for i, s := range scores {
		sums[i] += s
	}
}

func largestOf(sums []float64) (largest float64) {
	for _, s := range sums {
		largest = max(largest, math.Abs(s))
	}
	return largest
}

// ways is how many ways there are to take so many of n, or more than mostWays.
func ways(n, take int) int {
	all := 1
	for i := range min(take, n-take) {
		if all = all * (n - i) / (i + 1); all > mostWays {
			break
		}
	}
	return all
}

// Pivotal lists which of the first so many in the test order hang on a single ballot: there is a
// rater without whom, had they not been asked, they would come later. It does not say whose
// ballot it is, and treats all alike. In the order of the map.
func Pivotal(t Table, o Options, first int) []string {
	full := firstOf(t, o, first)
	asked := o.Asked
	if asked <= 0 {
		asked = len(t.Raters)
	}
	var pivotal []string
	for out := range t.Raters {
		o.Asked = asked - 1
		left := Table{IDs: t.IDs, Raters: without(t.Raters, out), Importance: without(t.Importance, out), Evidence: without(t.Evidence, out)}
		stays := firstOf(left, o, first)
		for _, id := range full {
			if !slices.Contains(stays, id) && !slices.Contains(pivotal, id) {
				pivotal = append(pivotal, id)
			}
		}
	}
	slices.SortFunc(pivotal, func(a, b string) int { return slices.Index(full, a) - slices.Index(full, b) })
	return pivotal
}

func firstOf(t Table, o Options, first int) (ids []string) {
	w := newScoring(t, o)
	w.spreads()
	w.ranks()
	for _, i := range w.order[:min(first, len(w.order))] {
		if w.scores[i].Rank != 0 {
			ids = append(ids, w.scores[i].ID)
		}
	}
	return ids
}

func without[T any](all []T, at int) []T { return slices.Concat(all[:at], all[at+1:]) }
