package report

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"soundings/bot/words"
	"soundings/flows"
	"soundings/flows/guide"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/tally"
	"soundings/flows/workdays"
)

// tasksFile is what is to be done as a table that issue trackers import: a row for
// each test, in test order, and then for each action.
func tasksFile(k state.Kickoff, f facts) File {
	rows := [][]string{{"title", "description", "owner", "due", "label"}}
	due := dueDays(k)
	for _, a := range f.Backlog {
		for _, t := range a.Tests {
			if t.Dropped == "" {
				rows = append(rows, []string{taskTitle(a.ID + ": " + string(t.Method)), testTask(a, t), string(t.Owner), string(due[t.N]), "test"})
			}
		}
	}
	for _, a := range f.Actions {
		if a.Done != "" {
			continue
		}
		rows = append(rows, []string{taskTitle(string(a.What)), actionTask(f, a), string(a.Owner), string(a.Due), "action"})
	}
	title := "Tests and actions, for your issue tracker"
	if len(f.Tests) == 0 {
		title = "Actions, for your issue tracker"
	}
	return File{Name: "tasks.csv", Title: title, Data: []byte(table(rows))}
}

// taskTitle is a line that is short enough for any tracker.
func taskTitle(text string) string { return words.Clip(words.OneLine(text), 200) }

func testTask(a assumption, t test) string {
	lines := []string{"Assumption " + a.ID + ": " + string(a.Statement)}
	if t.Learn != "" {
		lines = append(lines, "We learn: "+string(t.Learn))
	}
	lines = append(lines, "Counts as support: "+t.Pass+".", t.Effort+".")
	if t.Care {
		lines = append(lines, "It touches "+guide.Care+": it begins only after a yes of those in charge.")
	}
	return strings.Join(lines, "\n")
}

// actionTask is the whole of an action, where its title had no room for it.
func actionTask(f facts, a action) string {
	return string(a.What) + "\nFrom the kickoff: " + string(f.Title)
}

// dueDays gives each test, by number, the day on which it should have a result: the
// end of its week in the plan, or of the time box where that is sooner or the plan
// does not reach it. What had no result when a further box began is planned anew from
// then on. There are none before the time box begins.
func dueDays(k state.Kickoff) map[int]state.LocalDay {
	due := map[int]state.LocalDay{}
	starts, ends, lead := k.Timebox.Starts, k.Timebox.Ends, k.LeadHours()
	if starts.IsZero() {
		return due
	}
	weeks := map[int]time.Time{}
	planWeeks(k, weeks, starts, func(t state.Test) bool { return t.Since == 0 }) // what came later is in no plan
	if began := flows.BoxBegan(&k); began.After(starts) {
		planWeeks(k, weeks, began, leftAt(k, began))
	}
	for _, id := range k.Order() {
		for _, t := range k.TestsOf(id) {
			at, planned := weeks[t.N]
			if !planned {
				at = ends
			}
			due[t.N] = max(workdays.DayAt(lead, earlier(at, ends)), t.NotBefore) // it may have been put off
		}
	}
	return due
}

// planWeeks notes at which moment the week ends in which each of some tests has its
// result, if they begin at from.
func planWeeks(k state.Kickoff, ends map[int]time.Time, from time.Time, which func(state.Test) bool) {
	planned := tally.ScheduleOf(&k, which).Tests
	for _, id := range k.Order() {
		for _, t := range lists.Keep(k.TestsOf(id), which) {
			delete(ends, t.N)
			if week := planned[0].Week(); week > 0 {
				ends[t.N] = workdays.Close(k.LeadHours(), from, week)
			}
			planned = planned[1:]
		}
	}
}

// leftAt tells the tests that were there at a moment, and had no result.
func leftAt(k state.Kickoff, at time.Time) func(state.Test) bool {
	before := lists.Keep(k.Underway.Checkins, func(c state.Checkin) bool { return c.Opened.Before(at) })
	return func(t state.Test) bool {
		reported := slices.ContainsFunc(before, func(c state.Checkin) bool {
			return slices.ContainsFunc(c.Results, func(r state.TestResult) bool { return r.Test == t.N })
		})
		return !reported && t.Since <= len(before)
	}
}

// A LateTest was to have a result by a day that has passed, and has none.
type LateTest struct {
	state.Test
	Due state.LocalDay
}

// LateTests lists those of a discovery that is underway, the longest overdue first.
func LateTests(k state.Kickoff, now time.Time) []LateTest {
	var late []LateTest
	today := workdays.DayAt(k.LeadHours(), now)
	for n, due := range dueDays(k) {
		if t, _ := k.Test(n); due < today && len(state.Results(k.Underway, n)) == 0 {
			late = append(late, LateTest{t, due})
		}
	}
	slices.SortFunc(late, func(a, b LateTest) int { return cmp.Or(cmp.Compare(a.Due, b.Due), a.N-b.N) })
	return late
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}
