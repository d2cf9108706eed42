package engine

import "math"

// A Verdict is what a test says of its assumption. The empty value stands for
// no test.
type Verdict string

// The verdicts.
const (
	Supported Verdict = "supported"
	Refuted   Verdict = "refuted"
	NotClear  Verdict = "not clear yet"
	SoFar     Verdict = "so far" // no verdict: the planned number is still to come
)

// FindingConfidence is the confidence of the interval beside every finding.
const FindingConfidence = 0.95

// A Finding is the result of one test, laid against its pass mark.
type Finding struct {
	K       int     `json:"k"`
	N       int     `json:"n"`
	Mark    float64 `json:"mark"`  // the share, fixed beforehand, that counts as support
	Share   Figure  `json:"share"` // k/n, undefined without cases
	Low     float64 `json:"low"`   // of the 95% Wilson interval
	High    float64 `json:"high"`
	Verdict Verdict `json:"verdict"`

	// Narrow marks a supported assumption whose interval reaches below the
	// pass mark: the mark was met, by a result that chance could have lifted
	// there.
	Narrow bool `json:"narrow"`

	Planned int  `json:"planned,omitempty"` // cases that were planned; 0 when no number was
	Early   bool `json:"early,omitempty"`   // the verdict was clear before the planned number
	Census  bool `json:"census,omitempty"`  // these are all there are: Low and High say nothing
	Each    bool `json:"each,omitempty"`    // each report met the mark or did not: likewise
}

// Judge lays k of n against the pass mark, a share above 0 and at most 1.
//
//   - supported when k/n reaches the mark: people agreed beforehand that this
//     is what counts, so a bar set afterwards must not take it away. When the
//     95% Wilson interval reaches below the mark the finding is Narrow.
//   - refuted when the whole interval lies below the mark: even a lucky true
//     share would not reach it.
//   - not clear yet in between, and where there are no cases, no sensible k
//     or no mark.
//
// The rule leans to support on purpose, as the pass mark does; the interval
// stands beside it so that nobody mistakes 2 of 2 for certainty. The interval
// is from the literature (see [Wilson]); the rule is ours. It is meant for one
// look, at a number that was planned: see [TestPlan.Judge].
func Judge(k, n int, mark float64) Finding {
	f := Finding{K: k, N: n, Mark: mark, Share: Undefined(), Verdict: NotClear}
	f.Low, f.High = Wilson(k, n, FindingConfidence)
	if n <= 0 || k < 0 || k > n {
		return f
	}
	share := float64(k) / float64(n)
	f.Share = Figure(share)
	switch {
	case !(mark > 0 && mark <= 1):
	case share >= mark-markSlack:
		f.Verdict, f.Narrow = Supported, f.Low < mark
	case f.High < mark:
		f.Verdict = Refuted
	}
	return f
}

// markSlack lets a mark that was computed, such as 0.1+0.2, be met by 3 of 10.
const markSlack = 1e-9

// Wilson gives the score interval for the true share, of which k of n cases
// are a sample: both ends lie in 0 to 1.
//
// With p = k/n and z for the confidence (0.95 gives 1.96), the centre is
// (p + z²/2n)/(1 + z²/n) and the half-width z·√(p(1-p)/n + z²/4n²)/(1 + z²/n)
// (Wilson E.B. 1927; method 3 of Newcombe R.G. 1998, Statistics in Medicine
// 17, 857-872). Unlike the textbook p ± z·√(p(1-p)/n) it stays sensible for
// few cases, and for none or all of them.
//
// Without cases, or with a k that n cases cannot hold, nothing is known: the
// interval is 0 to 1. A confidence outside 0 to 1 has no interval; both ends
// are NaN.
func Wilson(k, n int, confidence float64) (low, high float64) {
	if n <= 0 || k < 0 || k > n {
		return 0, 1
	}
	if !(confidence > 0 && confidence < 1) {
		return math.NaN(), math.NaN()
	}
	z := twoSidedZ(1 - confidence)
	p, cases := float64(k)/float64(n), float64(n)
	widen := 1 + z*z/cases
	centre := (p + z*z/(2*cases)) / widen
	half := z * math.Sqrt(p*(1-p)/cases+z*z/(4*cases*cases)) / widen
	low, high = centre-half, centre+half
	if k == 0 {
		low = 0 // what the formula says, and rounding does not
	}
	if k == n {
		high = 1
	}
	return low, high
}
