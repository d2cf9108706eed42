// Package guide proposes ways to test an assumption, by its kind of risk: what
// each method tells and cannot tell, how much work it is, and how many people
// or cases it takes, computed by engine.
//
// It knows no kickoff: a kind of risk is a plain string here. Start with
// [Methods]; [Caution] belongs beside every plan that involves people.
package guide

import (
	"fmt"
	"math"

	"soundings/engine"
)

// Caution stands wherever a test involves people or what is known about them.
const Caution = "Before you involve people: say what it is for and ask for their consent. " +
	"Keep no more about them than you need, show it to few, and delete it when you are done. " +
	"Follow the law of the place where they live. " +
	"With children, and with anything about health, take extra care: ask somebody who knows the rules before you begin."

// A Method is one way to find out. Efforts and lead
// times are for one person and a small test (common practice, no source):
// a start for the plan, not a promise.
type Method struct {
	Name       string
	Tells      string   // completes "It tells you …"
	CannotTell string   // completes "It cannot tell you …"
	EffortDays float64  // usual work, in person-days
	LeadDays   float64  // usual waiting before the work can begin, in working days
	People     bool     // it takes people's time, or data about them: Caution applies
	Sample     SizeRule // how many it takes; the zero rule where counting says nothing
}

// A SizeRule says how many people or cases a method takes, and what that many
// are good for.
type SizeRule struct {
	Unit string // what is counted: "people", "answers"
	Buys string // completes "that many: …"
	size func(population int) (engine.Size, error)
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

// toDiscover is enough to meet, at least once and with the chance target,
// what is so for a given share of people.
func toDiscover(unit string, share, target float64) SizeRule {
	return SizeRule{
		Unit: unit,
		Buys: fmt.Sprintf("enough to meet, with a chance of %s, whatever is true of %s of them", percent(target), percent(share)),
		size: func(int) (engine.Size, error) { return engine.DiscoverSize(share, target) },
	}
}

// toMeasure is enough to know a share to within margin either way, with 95%
// confidence. expected is the share that is likely; one half, when nothing is
// known, asks most.
func toMeasure(unit string, margin, expected float64) SizeRule {
	buys := fmt.Sprintf("enough to know a share to within %s points either way (95%% confidence)", points(margin))
	if expected != 0.5 {
		buys = fmt.Sprintf("enough to know a share near %s to within %s points either way (95%% confidence)", percent(expected), points(margin))
	}
	return SizeRule{Unit: unit, Buys: buys, size: func(population int) (engine.Size, error) {
		return engine.SurveySize(margin, 0.95, expected, population)
	}}
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

// toGroup is what a card sort takes; a figure from observation, no formula.
func toGroup() SizeRule {
	return SizeRule{
		Unit: "people",
		Buys: "more than 20 to 30 hardly change the groups",
		size: func(int) (engine.Size, error) {
			return engine.Size{N: 20, Source: "lower end of 20 to 30 people (Tullis & Wood 2004, UPA)"}, nil
		},
	}
}

func percent(share float64) string { return points(share) + "%" }

func points(share float64) string { return fmt.Sprint(math.Round(share*1000) / 10) }

// Methods lists the methods that suit a kind of risk, the least work first;
// none for an unknown kind. It is a reminder, not a rule: people are free to
// name any method. Callers must not change the list.
func Methods(kind string) []Method { return methods[kind] }

var methods = map[string][]Method{
	"desirability": desirabilityMethods,
	"viability":    viabilityMethods,
	"feasibility":  feasibilityMethods,
	"usability":    usabilityMethods,
}
