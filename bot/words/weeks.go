package words

import (
	"fmt"
	"math"
	"strings"

	"soundings/engine"
)

// mostFurther is how many weeks beyond a time box people are told of.
const mostFurther = 3

// WeeksBring says what the last week of a time box brings, and what each
// further week would: "The last of them brings a first result on A14 (14% of the
// risk, by rank). A fifth week would bring nothing new." It is empty where
// nothing is to be tested first.
func WeeksBring(p engine.Plan, weeks int) string {
	if p.TestFirst == 0 {
		return ""
	}
	var says []string
	if work := workText(p, weeks); work != "" {
		says = append(says, work)
	}
	last := 0
	for _, f := range p.Firsts {
		last = max(last, f.Week)
	}
	if last == 0 {
		return strings.Join(says, " ")
	}
	if ids, _ := p.Brings(weeks); len(ids) > 0 {
		says = append(says, fmt.Sprintf("The last of them brings a first result on %s (%d%% of the risk, by rank).", Listed(ids, 8), WeekRisk(p, weeks)))
	}
	if weeks > last {
		return strings.Join(append(says, fmt.Sprintf("After week %d the plan brings nothing new.", last)), " ")
	}
	for week := weeks + 1; week <= weeks+mostFurther; week++ {
		ids, _ := p.Brings(week)
		if len(ids) > 0 {
			says = append(says, fmt.Sprintf("%s week would bring %s (%d%% of the risk).", further(week), Listed(ids, 8), WeekRisk(p, week)))
			continue
		}
		says = append(says, fmt.Sprintf("%s week would bring nothing new.", further(week)))
		if week > last {
			break
		}
	}
	return strings.Join(says, " ")
}

// WeekRisk is the part of the risk that a week tests, in whole percent. It is the
// difference of what is tested by its end and by its beginning, each rounded: so
// the weeks of a plan that tests everything add to 100.
func WeekRisk(p engine.Plan, week int) int { return testedRisk(p, week) - testedRisk(p, week-1) }

func testedRisk(p engine.Plan, week int) int {
	_, untested := p.Untested(week)
	return int(math.Round(100 * (1 - untested)))
}

// workText says where the days that people give do not hold the tests.
func workText(p engine.Plan, weeks int) string {
	given := p.PerWeek * float64(weeks)
	switch {
	case p.Effort <= 0 || p.Effort <= given:
		return ""
	case given == 0:
		return "Nobody has days to give, so no test gets done: ask for days, or for other people."
	}
	return fmt.Sprintf("The tests take %s of work, and the team can give %s in %s: some will not be done.",
		Days(tenths(p.Effort)), Days(tenths(given)), WeeksText(weeks))
}

// ShortBox says what stays untested in a time box that is shorter than the
// plan; empty where it is not.
func ShortBox(p engine.Plan, weeks int) string {
	untested, risk := p.Untested(weeks)
	if len(untested) == len(p.Missing) { // what no box would help
		return ""
	}
	riskiest := p.Firsts[:min(3, len(p.Firsts))]
	var top []string
	for _, f := range riskiest {
		if f.Week == 0 || f.Week > weeks {
			top = append(top, f.Assumption)
		}
	}
	stay := "stay"
	if len(untested) == 1 || len(untested) > 1 && len(top) == 1 {
		stay = "stays"
	}
	text := fmt.Sprintf("With %s, %d of %d to test first %s untested: %s (%s of the risk, by rank).",
		WeeksText(weeks), len(untested), p.TestFirst, stay, Listed(untested, 8), percent(whole(risk)))
	if len(top) > 0 && len(p.Firsts) > len(riskiest) {
		text = fmt.Sprintf("With %s, %d of the %d riskiest %s untested: %s; in all %d of %d (%s of the risk, by rank).",
			WeeksText(weeks), len(top), len(riskiest), stay, Listed(top, 8), len(untested), p.TestFirst, percent(whole(risk)))
	}
	return text + waitText(p, untested)
}

// waitText names the longest wait among tests of what stays untested, from a
// week on.
func waitText(p engine.Plan, untested []string) string {
	var longest engine.PlannedTest
	for _, t := range p.Tests {
		for _, id := range untested {
			if t.Assumption == id && t.Lead > longest.Lead {
				longest = t
			}
		}
	}
	if longest.Lead < engine.WorkingWeek {
		return ""
	}
	return fmt.Sprintf(" The test of %s waits %s before its work can begin.", longest.Assumption, Days(longest.Lead))
}

// further: "A fifth".
func further(week int) string {
	ordinal := fmt.Sprintf("%dth", week)
	if week < len(ordinals) {
		ordinal = ordinals[week]
	}
	if strings.HasPrefix(ordinal, "e") {
		return "An " + ordinal
	}
	return "A " + ordinal
}

var ordinals = []string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth"}

func whole(share float64) float64 { return math.Round(share*100) / 100 }

func tenths(days float64) float64 { return math.Round(days*10) / 10 }
