package engine

import (
	"fmt"
	"math"
	"sort"
)

// A TestPlan is what was fixed before a test: how many people or cases, and
// the share that counts as support. From that follows what each result will
// say, and how often it will say so wrongly.
type TestPlan struct {
	N    int     // people or cases; 0 when no number was planned
	Mark float64 // the pass mark, a share above 0 and at most 1; 0 when there is none

	// Census says that these are all there are: two offices of two. Then
	// the share is known once all have answered, and chance has no part in it.
	Census bool

	// Each says that a report meets the mark or does not, as a figure against its
	// bound or a yes: there is no share, and chance has no part in it.
	Each bool
}

// SupportFrom is the smallest k of N that supports, as [Judge] has it; 0
// without a number or a mark.
func (p TestPlan) SupportFrom() int {
	if !p.fixed() {
		return 0
	}
	return int(math.Ceil((p.Mark - markSlack) * float64(p.N)))
}

// RefuteTo is the largest k of N that speaks against; -1 when none does, as
// with few cases or without a plan. What lies between it and SupportFrom is
// not clear.
func (p TestPlan) RefuteTo() int {
	switch {
	case !p.fixed():
		return -1
	case p.Census:
		return p.SupportFrom() - 1
	}
	return sort.Search(p.N+1, func(k int) bool { return Judge(k, p.N, p.Mark).Verdict != Refuted }) - 1
}

// Passes is how often the plan supports when the true share is truth, by the
// exact binomial distribution: the share of such tests with SupportFrom or
// more. Where truth lies below the mark that is how often the test fools those
// who believe it.
func (p TestPlan) Passes(truth float64) float64 { return binomialTail(p.SupportFrom(), p.N, truth) }

// Misses is how often the plan does not support when the true share is truth:
// where that lies above the mark, how often a good idea falls short.
func (p TestPlan) Misses(truth float64) float64 {
	return binomialTail(p.N-p.SupportFrom()+1, p.N, 1-truth)
}

func (p TestPlan) fixed() bool { return p.N > 0 && p.Mark > 0 && p.Mark <= 1 }

// NearMark gives the two true shares at which a plan is held to account, one
// below the mark and one above: 15 points away, or half of what there is on
// that side where it is less (common practice, no source). At a mark of 60
// percent they are 45 and 75. Nearer to the mark no test of a sensible size
// tells the two apart; at a mark of 1 only 1 itself is not below.
func NearMark(mark float64) (below, above float64) {
	const apart = 0.15
	gap := min(apart, mark/2)
	return mark - gap, mark + min(gap, (1-mark)/2)
}

// OneInTen is how often a plan may be wrong on either side, for a size to be
// offered (common practice, no source).
const OneInTen = 0.1

const sourceMark = "exact binomial: P(X ≥ k of n) is the sum of C(n,i)·p^i·(1-p)^(n-i) for i = k … n " +
	"(Clopper & Pearson 1934, Biometrika 26, 404-413, use the same sums)"

// MarkSize is the smallest number of people or cases with which a pass mark is
// wrong at most in the share chance of tests on either side: a truth of below
// passes, or a truth of above falls short. Larger numbers are mostly, but
// not always, better, since k is a whole number.
func MarkSize(mark, below, above, chance float64) (Size, error) {
	if err := checkMark(mark, below, above); err != nil {
		return Size{}, err
	}
	if err := shareBetween("chance", chance, "0.1 for one in ten"); err != nil {
		return Size{}, err
	}
	const most = 20_000 // further out it is no plan, and the search takes a while
	for n := 1; n <= most; n++ {
		if p := (TestPlan{N: n, Mark: mark}); p.Passes(below) <= chance && p.Misses(above) <= chance {
			return Size{N: n, Source: sourceMark}, nil
		}
	}
	return Size{}, fmt.Errorf("this would take more than %d people or cases: look for a larger distance from the mark", most)
}

// A MarkReport is a TestPlan in figures, for the command line.
type MarkReport struct {
	Size
	Mark          float64 `json:"mark"`
	SupportedFrom int     `json:"supported_from"`
	RefutedTo     *int    `json:"refuted_to"` // null when no result speaks against
	Below         float64 `json:"below"`
	FalsePass     float64 `json:"false_pass"` // how often a truth of Below passes
	Above         float64 `json:"above"`
	FalseMiss     float64 `json:"false_miss"` // how often a truth of Above falls short
	OneInTen      *int    `json:"one_in_ten"` // the smallest n with both at most 0.1; null when that is no sensible number
}

// ReportMark works out a plan of n people or cases. 0 for n takes the smallest
// that is wrong at most one time in ten, 0 for below or above those of
// [NearMark].
func ReportMark(mark float64, n int, below, above float64) (MarkReport, error) {
	if n < 0 || n > mostPlanned {
		return MarkReport{}, fmt.Errorf("n must be 1 to %d; it is %d", mostPlanned, n)
	}
	under, over := NearMark(mark)
	if below != 0 {
		under = below
	}
	if above != 0 {
		over = above
	}
	if err := checkMark(mark, under, over); err != nil {
		return MarkReport{}, err
	}
	r := MarkReport{Size: Size{N: n, Source: sourceMark}, Mark: mark, Below: under, Above: over}
	switch size, err := MarkSize(mark, under, over, OneInTen); {
	case err == nil:
		r.OneInTen = &size.N
		if n == 0 {
			r.N = size.N
		}
	case n == 0:
		return MarkReport{}, err
	}
	plan := TestPlan{N: r.N, Mark: mark}
	r.SupportedFrom, r.FalsePass, r.FalseMiss = plan.SupportFrom(), plan.Passes(under), plan.Misses(over)
	if to := plan.RefuteTo(); to >= 0 {
		r.RefutedTo = &to
	}
	return r, nil
}

// mostPlanned is the largest test that flows takes, too.
const mostPlanned = 1_000_000

func checkMark(mark, below, above float64) error {
	switch {
	case !(mark > 0 && mark <= 1):
		return fmt.Errorf("mark must be above 0 and at most 1, such as 0.6 for 60 percent; it is %g", mark)
	case !(below >= 0 && below < mark):
		return fmt.Errorf("below must be 0 or more and less than the mark of %g; it is %g", mark, below)
	case !(above > mark && above <= 1 || mark == 1 && above == 1):
		return fmt.Errorf("above must be more than the mark of %g and at most 1; it is %g", mark, above)
	}
	return nil
}
