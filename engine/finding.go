package engine

// A Verdict is what a test says of its assumption. The empty value stands for
// no test.
type Verdict string

// The verdicts.
const (
	Supported Verdict = "supported"
	Refuted   Verdict = "refuted"
	NotClear  Verdict = "not clear yet"
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
// is from the literature (see [Wilson]); the rule is ours.
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
