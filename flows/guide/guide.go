// Package guide proposes ways to test an assumption, by its kind of risk: what
// each method tells and cannot tell, how it is done so that its result can be
// believed, how much work it is, how many people or cases it takes, and what
// could count as support.
//
// It knows no kickoff: a kind of risk is a plain string here. Start with
// [Methods]; [CautionFor] belongs beside every plan that involves people.
//
// # References
//
// Where each figure comes from. "From memory" says that the text was not at
// hand when this was written. What is marked "common practice, no source" is
// what people usually do, and a start to be changed.
//
//   - Days of work and of waiting, of every method: common practice, no source.
//   - Pass marks, where nothing else is said: common practice, no source.
//   - How many for a pass mark: the smallest number with which a truth well below
//     the mark passes, and one well above falls short, at most one time in ten, by
//     the binomial distribution; see [engine.MarkSize] and [engine.NearMark]. Clopper
//     C.J. & Pearson E.S. (1934), Biometrika 26, 404-413 (from memory), use such sums.
//   - Survey, pricing study: Cochran W.G. (1977), Sampling Techniques, 3rd ed., ch. 4
//     (from memory; the formula was read elsewhere). About ten invitations for each
//     answer: common practice, no source. That those who answer by their own choice
//     differ from the others: Bethlehem J. (2010), International Statistical Review
//     78(2), 161-188 (from memory). That people tend to agree with whatever is put
//     to them: Krosnick J.A. (1999), Annual Review of Psychology 50, 537-567 (from
//     memory).
//   - Interviews: 9 to 17 with people who are alike and a narrow aim, Hennink M. &
//     Kaiser B.N. (2022), Social Science & Medicine 292, 114523 (abstract read). Guest
//     G., Bunce A. & Johnson L. (2006), Field Methods 18(1), 59-82, had 80 of their 114
//     codes after six interviews and 100 after twelve (extract read). To stop when
//     some in a row bring nothing new: Guest G., Namey E. & Chen M. (2020), PLoS ONE
//     15(5), e0232076 (from memory).
//   - Prototype walk-through and hand-operated prototype: Nielsen J. & Landauer T.K.
//     (1993), INTERCHI '93, 206-213 (abstract read): one person meets 0.31 of the
//     problems on average; studies range from 0.19 to 0.51 (a copy of the authors' page
//     read). The formula is hopeful: Schmettow M. (2012), Communications of the ACM
//     55(4), 64-70 (read). A person who acts as the machine: Kelley J.F. (1984), ACM
//     Transactions on Information Systems 2(1), 26-41 (from memory).
//   - Usability test: the mark is near the mean share of tasks that get done, 78% of
//     some 1,200 tasks, Sauro J. (2011), published on the web (from memory).
//   - Comprehension test: 85% understand it and at most 5% believe the opposite, as the
//     American standard Z535.3 asks of safety symbols (from memory). None of 60 leaves
//     room for 5 in 100: the rule of three, Hanley J.A. & Lippman-Hand A. (1983), JAMA
//     249, 1743-1745 (from memory).
//   - Card sort: Tullis T. & Wood L. (2004), How many users are enough for a
//     card-sorting study?, UPA 2004 (abstract read).
//   - Split test: Fleiss J.L., Tytun A. & Ury H.K. (1980), Biometrics 36, 343-346 (notes
//     on it read). That looking often finds differences where there are none: Armitage
//     P., McPherson C.K. & Rowe B.C. (1969), Journal of the Royal Statistical Society A
//     132, 235-244 (from memory).
//   - Pricing study: that people say they would pay more than they do, Schmidt J. &
//     Bijmolt T.H.A. (2020), Journal of the Academy of Marketing Science 48, 499-518
//     (from memory).
package guide

import (
	"fmt"
	"math"

	"soundings/engine"
)

// With health, children, or people who depend on whoever asks, more is to be minded,
// and somebody is asked before the test begins.
const (
	Care     = "health, children, or people who depend on us" // completes "It touches …"
	Approval = "Ask whoever is in charge of research ethics or data protection"

	// ApprovalDays is the usual waiting for a yes, in working days; its source is DaysSource.
	ApprovalDays = 10
)

// What stands beside a test that involves people or what is known about them.
const (
	always = "Before you involve people: say what it is for, and ask for their consent; they can stop at any time. " +
		"Keep no more about them than you need, show it to few, and delete it when you are done. "
	usual = "Follow the law of the place where they live: ask whoever is in charge of it. " +
		"With children, and with anything about health, take extra care: ask somebody who knows the rules before you begin."
	careful = "Whoever is in charge of research ethics or data protection knows the law of the place: begin after their yes. " +
		"People who depend on you find it hard to say no. Let somebody ask on whom they do not depend, and say that a no costs them nothing. " +
		"For a child a parent agrees, and the child too. " +
		"Use no list of names that was made for something else. Record only with a yes to the recording. " +
		"Whoever withdraws later has everything deleted that they gave. Pay for their time, but not so much that they can hardly say no."
)

// Caution is the same in short, for a form on a phone: what is beside it leads to
// [CautionFor].
const Caution = "With people: ask for their consent, keep little about them, follow the law where they live. Take extra care with children and health."

// CautionFor is what to mind in a test with people; care says that it touches [Care].
func CautionFor(care bool) string {
	if care {
		return always + careful
	}
	return always + usual
}

// A Method is one way to find out. Efforts and lead times are for one person and a
// small test (common practice, no source): a start for the plan, not a promise.
type Method struct {
	Name       string
	Tells      string   // completes "It tells you …"
	CannotTell string   // completes "It cannot tell you …"
	Mind       string   // how it is done so that its result can be believed
	EffortDays float64  // usual work, in person-days
	LeadDays   float64  // usual waiting before the work can begin, in working days
	People     bool     // it takes people's time, or data about them: CautionFor applies
	Sample     SizeRule // how many it takes; the zero rule where counting says nothing
	Mark       Mark     // what could count as support
}

// A Mark is a result that counts as support: one of a share, a figure, or a yes. It
// is a start, to be changed before anybody looks.
type Mark struct {
	Share   float64 // of people or cases, above 0 and at most 1
	AtLeast float64 // of Unit
	Unit    string
	YesNo   bool
	Source  string // of the share or the figure; empty for a yes
}

// commonPractice is the source of what has none.
const commonPractice = "common practice, no source"

// DaysSource is where the days of work and of waiting come from.
const DaysSource = commonPractice

var yes = Mark{YesNo: true}

// share is a pass mark without a source.
func share(of float64) Mark { return Mark{Share: of, Source: commonPractice} }

// A SizeRule says how many people or cases a method takes, and what that many
// are good for.
type SizeRule struct {
	Unit   string // what is counted: "people", "answers"
	Buys   string // completes "that many: …"
	Shares bool   // fewer do where the people or cases are few
	size   func(population int) (engine.Size, error)
}

// For is the number for a population of that many people or cases, 0 or less
// when there are many. It is false where counting says nothing.
func (r SizeRule) For(population int) (engine.Size, bool) {
	if r.size == nil {
		return engine.Size{}, false
	}
	size, err := r.size(max(0, population))
	if err != nil { // the rules below are constants within the engine's ranges
		panic(fmt.Sprintf("guide: no size of %s for a population of %d: %v", r.Unit, population, err))
	}
	return size, true
}

// problemShare is the part of the problems of a design that one person meets; the
// other two are how far that goes from study to study. They are about problems of
// use, and about nothing else.
const (
	problemShare     = 0.31
	fewestOfProblems = 0.19
	mostOfProblems   = 0.51
	problemsWanted   = 0.85
)

// toMeetProblems is enough to meet most problems of use at least once.
func toMeetProblems() SizeRule {
	few, many := problemSize(mostOfProblems), problemSize(fewestOfProblems)
	return SizeRule{
		Unit: "people",
		Buys: fmt.Sprintf("enough to meet %s of the problems at least once, if each person meets %s of them; from study to study "+
			"a person met %s to %s, which takes %d to %d people", percent(problemsWanted), percent(problemShare),
			percent(fewestOfProblems), percent(mostOfProblems), few.N, many.N),
		size: func(int) (engine.Size, error) { return problemSize(problemShare), nil },
	}
}

func problemSize(share float64) engine.Size {
	size, err := engine.DiscoverSize(share, problemsWanted)
	if err != nil {
		panic(fmt.Sprintf("guide: no size for a share of %g: %v", share, err)) // constants within its ranges
	}
	return size
}

// toMeasure is enough to know a share to within margin either way, with 95%
// confidence, whatever the share is.
func toMeasure(unit string, margin float64) SizeRule {
	return SizeRule{Unit: unit, Shares: true,
		Buys: fmt.Sprintf("enough to know a share to within %s points either way (95%% confidence)", points(margin)),
		size: func(population int) (engine.Size, error) {
			return engine.SurveySize(margin, 0.95, 0.5, population)
		}}
}

// toPass is enough for a pass mark to be wrong at most one time in ten, if the truth
// is well below or well above it.
func toPass(unit string, mark float64) SizeRule {
	below, above := engine.NearMark(mark)
	return SizeRule{
		Unit: unit,
		Buys: fmt.Sprintf("with a pass mark of %s at most one test in ten misleads, if the truth is %s or %s", percent(mark), percent(below), percent(above)),
		size: func(int) (engine.Size, error) { return engine.MarkSize(mark, below, above, engine.OneInTen) },
	}
}

// toCompare is enough, for each of two versions, to notice a rise from base by
// lift: 5% two-sided, power 80%.
func toCompare(unit string, base, lift float64) SizeRule {
	return SizeRule{
		Unit: unit,
		Buys: fmt.Sprintf("enough to notice a rise from %s to %s (5%% two-sided, power 80%%)", percent(base), percent(base+lift)),
		size: func(int) (engine.Size, error) { return engine.SplitSize(base, lift, 0.05, 0.8) },
	}
}

// toExclude is enough to say, if none is found, that at most a share of them is so.
func toExclude(unit, what string, share float64) SizeRule {
	return SizeRule{
		Unit: unit,
		Buys: fmt.Sprintf("if none of them %s, then at most %s do (95%% confidence)", what, percent(share)),
		size: func(int) (engine.Size, error) {
			return engine.Size{N: int(math.Round(3 / share)), Source: "rule of three: none of n leaves room for 3/n (Hanley & Lippman-Hand 1983, JAMA 249)"}, nil
		},
	}
}

// observed is a number that others have found to do; no formula.
func observed(unit, buys string, n int, source string) SizeRule {
	return SizeRule{Unit: unit, Buys: buys, size: func(int) (engine.Size, error) { return engine.Size{N: n, Source: source}, nil }}
}

func percent(share float64) string { return points(share) + "%" }

func points(share float64) string { return fmt.Sprint(math.Round(share*1000) / 10) }

// Methods lists the methods that suit a kind of risk: a review of what is known
// first, then the least work first; none for an unknown kind. It is a reminder,
// not a rule: people are free to name any method. Callers must not change the list.
func Methods(kind string) []Method { return methods[kind] }

var methods = map[string][]Method{
	"desirability": desirabilityMethods,
	"viability":    viabilityMethods,
	"feasibility":  feasibilityMethods,
	"usability":    usabilityMethods,
}

// ForKinds lists the methods of several kinds of risk, no method twice: a review of
// what is known first, then those of each kind in turn.
func ForKinds(kinds ...string) []Method {
	var all []Method
	seen := map[string]bool{}
	for at, more := 0, true; more; at++ {
		more = false
		for _, kind := range kinds {
			if at >= len(Methods(kind)) {
				continue
			}
			more = true
			if m := Methods(kind)[at]; !seen[m.Name] {
				seen[m.Name] = true
				all = append(all, m)
			}
		}
	}
	return all
}

// longestKey is how many characters a key has at most: with them no two are alike.
const longestKey = 12

// Key names a method where there is little room: it is what its name begins with, so that
// it means the same in a release with further methods.
func (m Method) Key() string {
	name := []rune(m.Name)
	return string(name[:min(longestKey, len(name))])
}

// Keyed is the method of that key, or of that name.
func Keyed(key string) (m Method, ok bool) {
	if m, ok = Named(key); ok {
		return m, true
	}
	for _, list := range methods {
		for _, m := range list {
			if m.Key() == key {
				return m, true
			}
		}
	}
	return Method{}, false
}

// Named is the method of that name.
func Named(name string) (m Method, ok bool) {
	for _, list := range methods {
		for _, m := range list {
			if m.Name == name {
				return m, true
			}
		}
	}
	return Method{}, false
}
