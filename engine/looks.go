package engine

import "math"

// Who looks at a count every week and stops when it is good passes far more
// often than the plan says: each look is another chance to be lucky. Between
// the start of a test and its planned number there is therefore no verdict,
// unless the count has crossed a bound that holds at every look at once.

// LookError is how often, at most, such a bound is ever crossed by chance: on
// the side of support where the truth is on the mark or below it, on the other
// side where it is on the mark or above.
const LookError = 0.05

// crossed gives the verdict of the bound that is valid at every look, or SoFar.
//
// The bound is a mixture of likelihood ratios (Robbins H. 1970, Statistical
// methods related to the law of the iterated logarithm, Annals of Mathematical
// Statistics 41, 1397-1409), the one-sided beta-binomial mixture of Howard
// S.R., Ramdas A., McAuliffe J. & Sekhon J. 2021, Time-uniform, nonparametric,
// nonasymptotic confidence sequences, Annals of Statistics 49, 1055-1080, here
// with all shares on the far side of the mark taken as equally likely.
// Whatever the truth is on the near side, the mixture is on average never more
// than 1 at any look, so it ever reaches 1/LookError in at most LookError of
// all tests (Ville's inequality).
func crossed(k, n int, mark float64) Verdict {
	switch {
	case mixture(k, n, mark) >= 1/LookError:
		return Supported
	case mixture(n-k, n, 1-mark) >= 1/LookError:
		return Refuted
	}
	return SoFar
}

// mixture is how much better k of n is told by the shares above p, each alike,
// than by p itself:
//
//	∫ q^k·(1-q)^(n-k) dq / (1-p), from p to 1, over p^k·(1-p)^(n-k)
//
// The integral is an incomplete beta function, which for whole k and n is a
// binomial sum (Abramowitz M. & Stegun I.A. 1964, 26.5.24).
func mixture(k, n int, p float64) float64 {
	switch {
	case p >= 1:
		return 0 // nothing lies above
	case p <= 0 && k > 0:
		return math.Inf(1) // what cannot be was seen
	case p <= 0:
		return 0
	}
	below := binomialTail(n+1-k, n+1, 1-p) // at most k of n+1
	return below / (1 - p) / float64(n+1) / math.Exp(binomialLog(k, n, p))
}

// Judge lays k of n cases against the plan.
//
//   - At the planned number, and beyond it, the rule of the plan decides: see
//     the function [Judge].
//   - Before it, and where no number was planned, the verdict is SoFar, unless
//     the bound that is valid at every look was crossed; then the finding is
//     Early.
//   - Where each report meets the mark or does not, all of them have to agree.
//   - In a census each answer is certain, so there is a verdict as soon as the
//     answers still to come cannot change it.
func (p TestPlan) Judge(k, n int) Finding {
	f := Judge(k, n, p.Mark)
	f.Planned, f.Census = p.N, p.Census && p.N > 0
	switch {
	case p.Each:
		return judgeEach(k, n)
	case n <= 0 || k < 0 || k > n || !(p.Mark > 0 && p.Mark <= 1):
	case f.Census:
		f.Low, f.High, f.Narrow = 0, 1, false
		f.Verdict = p.counted(k, n)
	case p.N == 0 || n < p.N:
		f.Verdict, f.Narrow = crossed(k, n, p.Mark), false
		f.Early = f.Verdict != SoFar
	}
	return f
}

// counted is the verdict of a census in which n of N have answered.
func (p TestPlan) counted(k, n int) Verdict {
	p.N = max(p.N, n) // more than were thought to be
	switch left := p.N - n; {
	case k >= p.SupportFrom():
		return Supported
	case k+left < p.SupportFrom():
		return Refuted
	}
	return SoFar
}

// judgeEach is the finding of n reports of which k met the mark by themselves.
func judgeEach(k, n int) Finding {
	f := Finding{K: k, N: n, Mark: 1, Share: Undefined(), High: 1, Each: true, Verdict: NotClear}
	switch {
	case n <= 0 || k < 0 || k > n:
	case k == n:
		f.Verdict = Supported
	case k == 0:
		f.Verdict = Refuted
	}
	return f
}
