package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// This file holds what tests showed. Reports add up: whoever finds out more
// reports that, and a mistake is corrected by a further report that says so. What
// once was found is never gone.

// ReportResult reports what a test showed since the last report, in the words of
// its pass mark: k of n, a figure, or a yes as 1 of 1 and a no as 0 of 1. Its
// owner may, and a lead, and for a test without an owner anybody.
type ReportResult struct {
	By
	Checkin  int // its number, from 1
	Test     int
	K, N     int
	Figure   float64
	Corrects int    // the entry that was wrong; 0 for a further one
	Why      string // what was wrong with it
	Again    bool   // it is a further one, though it says the same as one of theirs in this check-in
}

func (i ReportResult) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	t, ok := k.Test(i.Test)
	i = i.laid(t)
	owner := state.DoerOf(k, t)
	if err := cmp.Or(
		needsCheckin(k, i.Checkin),
		refuseIf(!ok, "test", "There is no test %d.", i.Test),
		refuseIf(owner != "" && owner != i.Who && !k.IsLead(i.Who), "test",
			"Only %s or the lead can report on test %d. Tell them what you know.", k.Name(owner), i.Test),
		refuseIf(i.N < 1 || i.K < 0 || i.K > i.N || i.N > maxSize, "result", "Give how many of how many: for instance 9 of 12."),
		refuseIf(t.YesNo && i.N > 1, "result", "This test has a yes or a no."),
		refuseIf(!within(max(i.Figure, -i.Figure), maxFigure), "result", "The figure is at most %.0f.", maxFigure),
		checkCorrection(k, i),
	); err != nil {
		return nil, err
	}
	reported := event.ResultReported{Test: i.Test, K: i.K, N: i.N, Rule: state.ByPlan, Entry: entries(k) + 1, Figure: i.Figure, Corrects: i.Corrects, Why: i.Why}
	events := append(countForesight(k, i.Test), reported)
	return provided(refuseIf(!i.Again && SaidAlready(k, i), "result",
		"You have reported exactly this in this check-in already, and it counts once. If it is a further one, say so."), events...)
}

// laid is a report with its figure laid against the bound of its test.
func (i ReportResult) laid(t state.Test) ReportResult {
	switch {
	case t.Bound.Unit == "":
		i.Figure = 0
	case t.Bound.Met(i.Figure):
		i.K, i.N = 1, 1
	default:
		i.K, i.N = 0, 1
	}
	return i
}

func checkCorrection(k *state.Kickoff, i ReportResult) error {
	if i.Corrects == 0 {
		return nil
	}
	reports := state.Results(k.Underway, i.Test)
	_, again := state.Correction(reports, i.Corrects)
	_, known := state.Numbered(reports, i.Corrects)
	return cmp.Or(
		refuseIf(!known, "corrects", "Choose the report that was wrong."),
		refuseIf(again, "corrects", "That report was corrected already. Correct the newer one."),
		checkText("why", "word on what was wrong", i.Why, MaxSentence, true),
	)
}

// SaidAlready reports that the same person has reported the same of a test in the
// open check-in: mostly they send it again because they are not sure that it was
// taken, and it must neither count twice nor be dropped without a word.
func SaidAlready(k *state.Kickoff, i ReportResult) bool {
	t, _ := k.Test(i.Test)
	i = i.laid(t)
	c := state.OpenCheckin(k)
	return c != nil && slices.ContainsFunc(c.Results, func(r state.TestResult) bool {
		return r.By == i.Who && r.Test == i.Test && r.K == i.K && r.N == i.N && r.Figure == i.Figure && r.Corrects == i.Corrects && r.Why == i.Why
	})
}

// entries counts the reports so far.
func entries(k *state.Kickoff) int {
	n := 0
	for _, c := range k.Underway.Checkins {
		n += len(c.Results)
	}
	return n
}

// MaxSentence is the longest sentence of a report, in characters: it is shown whole.
const MaxSentence = 300

// TellResult says in words what the actor's last report of a test is worth
// knowing for. They may say it otherwise until the check-in closes.
type TellResult struct {
	By
	Checkin int // its number, from 1
	Test    int
	state.Told
}

func (i TellResult) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(
		needsCheckin(k, i.Checkin),
		checkText("learnt", "sentence", i.Learnt, MaxSentence, false),
		checkText("surprise", "surprise", i.Surprise, MaxSentence, false),
		checkText("link", "link", i.Link, MaxSentence, false),
		checkText("quote", "quote", i.Quote, MaxSentence, false),
	); err != nil {
		return nil, err
	}
	for _, r := range slices.Backward(state.OpenCheckin(k).Results) {
		if r.Test == i.Test && r.By == i.Who && r.Entry > 0 {
			return when(r.Told != i.Told, event.ResultTold{Entry: r.Entry, Told: i.Told})
		}
	}
	return nil, refuseField("learnt", "You have not reported on that test in this check-in. Give the result first.")
}

// afterResults says what should follow from results of tests.
func afterResults(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.ResultReported, event.ResultTold:
		b.checkin()
	}
}
