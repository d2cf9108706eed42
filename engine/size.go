package engine

import (
	"cmp"
	"fmt"
	"math"
)

// A Size is how many people or cases a test needs, and where the figure
// comes from.
type Size struct {
	N      int    `json:"n"`
	Source string `json:"source"` // the formula and its reference, in one line
}

// The formulas, as they stand beside every figure.
const (
	sourceSurvey = "n0 = z²·p(1-p)/e², rounded up; z exact (Cochran 1977, Sampling Techniques, ch. 4)"
	sourceFinite = "n0 = z²·p(1-p)/e², n = n0/(1 + (n0-1)/N), rounded up; z exact " +
		"(Cochran 1977, Sampling Techniques, ch. 4, finite population)"
	sourceSplit = "per arm, n = [z(α/2)·√(2p̄q̄) + z(β)·√(p1q1 + p2q2)]²/(p1-p2)², rounded up; " +
		"two-sided, pooled normal, no continuity correction (Fleiss, Tytun & Ury 1980)"
	sourceDiscover = "smallest n with 1-(1-p)^n ≥ target (Nielsen & Landauer 1993)"
)

// largestSize is more people than there are: a larger answer is no plan.
const largestSize = 1e10

// SurveySize is how many answers a survey needs so that a share is known to
// within margin either way.
//
//   - margin is half the width of the interval, above 0 and below 1: 0.05 is
//     five percentage points either way.
//   - confidence is how often such intervals hold the true share, above 0 and
//     below 1: usually 0.95.
//   - proportion is the share expected, above 0 and below 1; 0.5 asks most,
//     so take that when nothing is known.
//   - population is how many people there are to ask; 0 means many, a
//     negative number is refused. A small population needs fewer answers.
//
// The formula is Cochran's n0 = z²p(1-p)/e², and n0/(1 + (n0-1)/N) for a
// population of N (Cochran W.G. 1977, Sampling Techniques, 3rd ed., ch. 4).
// It supposes a random sample and answers from everyone asked; neither is
// common, so treat the figure as the least that could do. Tables such as
// Krejcie & Morgan (1970) round to nearest; this always rounds up.
func SurveySize(margin, confidence, proportion float64, population int) (Size, error) {
	err := cmp.Or(
		shareBetween("margin", margin, "0.05 for five percentage points either way"),
		shareBetween("confidence", confidence, "0.95"),
		shareBetween("proportion", proportion, "0.5 when nothing is known"),
		notNegative("population", population))
	if err != nil {
		return Size{}, err
	}
	n0 := surveyRaw(margin, confidence, proportion)
	if population == 0 {
		return sized(n0, sourceSurvey, "allow a wider margin")
	}
	return sized(finite(n0, float64(population)), sourceFinite, "allow a wider margin")
}

func surveyRaw(margin, confidence, proportion float64) float64 {
	z := twoSidedZ(1 - confidence)
	return z * z * proportion * (1 - proportion) / (margin * margin)
}

// finite corrects n0, the sample from an endless population, for one of
// population people.
func finite(n0, population float64) float64 { return n0 / (1 + (n0-1)/population) }

// SplitSize is how many people or cases each arm of a split test needs so
// that a difference of lift is noticed.
//
//   - base is the share today, above 0 and below 1.
//   - lift is the difference worth noticing, as a share and not as a ratio:
//     base 0.10 and lift 0.02 compare 10 with 12 percent. It may be negative,
//     not 0, and base + lift must stay within 0 to 1.
//   - alpha is how often a difference is reported where there is none, on
//     both sides together, above 0 and below 1: usually 0.05.
//   - power is how often a true difference of lift is noticed, above alpha and
//     below 1: usually 0.8.
//
// The formula is the pooled normal one without continuity correction,
//
//	n = [z(α/2)·√(2p̄q̄) + z(β)·√(p1q1 + p2q2)]² / (p1-p2)²
//
// as in R's power.prop.test and in Fleiss J.L., Tytun A. & Ury H.K. (1980),
// Biometrics 36, 343-346; their continuity correction would add about 2/|lift|
// to each arm. Other formulas (arcsine, corrected) give other figures.
func SplitSize(base, lift, alpha, power float64) (Size, error) {
	err := cmp.Or(
		shareBetween("base", base, "0.10 for 10 percent"),
		liftFrom(base, lift),
		shareBetween("alpha", alpha, "0.05"),
		powerAbove(alpha, power))
	if err != nil {
		return Size{}, err
	}
	return sized(splitRaw(base, lift, alpha, power), sourceSplit, "look for a larger lift")
}

func splitRaw(base, lift, alpha, power float64) float64 {
	other := min(max(base+lift, 0), 1) // 0.7 + 0.3 may miss 1 by a hair
	mean := base + lift/2
	chance := twoSidedZ(alpha) * math.Sqrt(2*mean*(1-mean))
	missed := -normalQuantile(1-power) * math.Sqrt(base*(1-base)+other*(1-other))
	return (chance + missed) * (chance + missed) / (lift * lift)
}

// DiscoverSize is how many people must be watched or heard so that a problem
// which troubles a given share of them shows up at least once with the chance
// target. Read the other way round: the share of such problems that n people
// bring to light is 1-(1-share)^n.
//
//   - share is the part of people whom one problem troubles, above 0, at most 1.
//   - target is the chance wanted, above 0 and below 1.
//
// Nielsen J. & Landauer T.K. (1993), INTERCHI '93, 206-213, found a mean share
// of 0.31; five people then bring 84 percent to light, and "at least 85
// percent" takes six. The formula is hopeful: shares differ between problems
// and between people (Schmettow M. 2012, Commun. ACM 55(4), 64-70).
func DiscoverSize(share, target float64) (Size, error) {
	if share != 1 {
		if err := shareBetween("share", share, "0.31 for 31 percent"); err != nil {
			return Size{}, err
		}
	}
	if err := shareBetween("target", target, "0.85 for 85 percent"); err != nil {
		return Size{}, err
	}
	return sized(discoverRaw(share, target), sourceDiscover, "look for more common problems")
}

func discoverRaw(share, target float64) float64 { return math.Log1p(-target) / math.Log1p(-share) }

// sized rounds a raw size up. A whole number that the arithmetic missed by a
// hair is not bumped to the next: the slack is far above the noise of the
// formulas and far below a person.
func sized(raw float64, source, mend string) (Size, error) {
	if !(raw < largestSize) {
		return Size{}, fmt.Errorf("this would take more people than there are: %s", mend)
	}
	slack := 1e-9 + raw*1e-13
	return Size{N: max(1, int(math.Ceil(raw-slack))), Source: source}, nil
}

// shareBetween refuses a value that is not strictly between 0 and 1.
func shareBetween(name string, v float64, example string) error {
	if v > 0 && v < 1 {
		return nil
	}
	return fmt.Errorf("%s must be above 0 and below 1, such as %s; it is %g", name, example, v)
}

func notNegative(name string, v int) error {
	if v >= 0 {
		return nil
	}
	return fmt.Errorf("%s must be 0 (many) or more; it is %d", name, v)
}

// liftFrom refuses a lift of nothing, and one that leads from base to a share
// that cannot be.
func liftFrom(base, lift float64) error {
	const hair = 1e-12 // 0.7 + 0.3 may miss 1
	switch to := base + lift; {
	case lift == 0 || math.IsNaN(lift) || math.IsInf(lift, 0):
		return fmt.Errorf("lift must be a number other than 0, such as 0.02; it is %g", lift)
	case to < -hair || to > 1+hair:
		return fmt.Errorf("base plus lift must stay within 0 to 1; %g and %g make %g", base, lift, to)
	}
	return nil
}

// powerAbove refuses a power that blind chance would reach as well.
func powerAbove(alpha, power float64) error {
	if power > alpha && power < 1 {
		return nil
	}
	return fmt.Errorf("power must be above alpha and below 1, such as 0.8; it is %g", power)
}
