package flows

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// This file holds what a lead can still change about the summary, before it is
// posted and while it stands in the channel. What people rated, ticked or
// voted is a fact and cannot be changed by anybody.

// MaxWord is the longest word of a lead's about a part, in characters: long
// enough for three sentences, and shown whole wherever the part is.
const MaxWord = 600

// canRevise reports, as a refusal at a field, that the summary cannot be changed
// now: before the last step each step has its own ways.
func canRevise(k *state.Kickoff, field string) error {
	if k.Stage == state.StageUnderway || k.Stage == state.StageClose && k.Window.Phase == state.PhaseOpen {
		return nil
	}
	return refuseField(field, "The summary is put together in the last step, which is not open now, so this was not taken. Each step before has its own way to change things.")
}

// revise changes a part of the summary, unless a check refuses it or nothing changes.
// Where the summary was posted before, people who have read it should know.
func revise(k *state.Kickoff, check error, changes bool, part string, e event.Event) ([]event.Event, error) {
	switch {
	case check != nil:
		return nil, check
	case !changes:
		return nil, nil
	case k.Stage != state.StageUnderway:
		return []event.Event{e}, nil
	}
	return []event.Event{e, event.PartChanged{Part: part}}, nil
}

// GiveWord puts a word of the lead's to a part of the summary, in the place of
// an earlier one; an empty text takes it back.
type GiveWord struct {
	ByLead
	Part string // one of Parts
	Text string
}

func (i GiveWord) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	check := cmp.Or(
		canRevise(k, "word"),
		refuseIf(!slices.Contains(Parts(), i.Part), "word", "The summary has no such part. Open it again from your newest message."),
		checkText("word", "word about this part", i.Text, MaxWord, false),
	)
	return revise(k, check, k.Summary.Words[i.Part].Text != i.Text, i.Part, event.WordGiven{Part: i.Part, Text: i.Text})
}

// ReviseBrief changes the lead's own texts. The problem as it was brought is
// not among them: people have ticked it.
type ReviseBrief struct {
	ByLead
	Title, Why, Outcome, OutOfBounds string
}

func (i ReviseBrief) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canRevise(k, "title"); err != nil {
		return nil, err
	}
	b := written(k.Brief)
	changes := b.Title != i.Title || b.Why != i.Why || b.Outcome != i.Outcome || b.OutOfBounds != i.OutOfBounds
	b.Title, b.Why, b.Outcome, b.OutOfBounds = i.Title, i.Why, i.Outcome, i.OutOfBounds
	if !changes {
		return nil, nil
	}
	return revise(k, checkBrief(b), true, "problem", event.BriefEdited{Brief: b})
}

// ReviseProblem settles the problem statement anew. The ladder, and what
// people ticked on it, stays beside it as it was.
type ReviseProblem struct {
	ByLead
	Problem string
	Level   int
}

func (i ReviseProblem) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	check := cmp.Or(canRevise(k, "problem"), checkProblem(i.Problem, i.Level))
	changes := i.Problem != k.Framing.Problem || i.Level != k.Framing.AtLevel
	return revise(k, check, changes, "problem", event.FramingSettled{Problem: i.Problem, Level: i.Level})
}

// ReviseRings puts people into other rings; whoever is not named stays where
// they stand.
type ReviseRings struct {
	ByLead
	Rings map[state.UserID]state.Ring
}

func (i ReviseRings) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	check := cmp.Or(
		canRevise(k, "rings"),
		refuseIf(k.LeavesOut(state.StageRoles), "rings",
			"The roles were left out of this kickoff, so there are no rings to change. A word of yours can say who does what."),
		checkRings(k, i.Rings),
	)
	rings, moved := map[state.UserID]state.Ring{}, false
	maps.Copy(rings, k.Roles.Settled)
	maps.DeleteFunc(rings, func(u state.UserID, _ state.Ring) bool { return !k.Takes(u) })
	for u, ring := range i.Rings {
		if k.RingOf(u) != ring {
			rings[u] = ring
			moved = true
		}
	}
	return revise(k, check, moved, "roles", event.RolesSettled{Rings: rings})
}

// ReviseTest changes how a test is worded, and who does it. Its pass mark
// stays: it was fixed before anybody looked. So do its days, on which people
// voted the weeks.
type ReviseTest struct {
	ByLead
	N             int
	Method, Learn string
	Owner         state.UserID
}

func (i ReviseTest) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canRevise(k, "method"); err != nil {
		return nil, err
	}
	t, ok := k.Test(i.N)
	if !ok {
		return nil, refuseField("method", "There is no test %d any more.", i.N)
	}
	plan := state.PlanOf(t)
	plan.Method, plan.Learn, plan.Owner = i.Method, i.Learn, i.Owner
	if state.PlanOf(t) == plan {
		return nil, nil
	}
	return revise(k, checkPlan(k, plan), true, "backlog", event.TestEdited{N: i.N, Plan: plan})
}

// ReviseMarks changes what was written down beforehand, as long as it is
// beforehand: once the time box has begun nobody moves the marks by which it
// will be judged.
type ReviseMarks struct {
	ByLead
	StopIf, BuildIf string
}

func (i ReviseMarks) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	check := cmp.Or(
		canRevise(k, "stop_if"),
		refuseIf(k.Stage == state.StageUnderway, "stop_if",
			"The time box has begun, so what was written down beforehand stays as it is. You can add a word to it."),
		checkMarks(i.StopIf, i.BuildIf),
	)
	// Before the summary is posted there is nobody to tell of the change.
	changes := i.StopIf != k.Timebox.StopIf || i.BuildIf != k.Timebox.BuildIf
	return revise(k, check, changes, "timebox", event.MarksChanged{StopIf: i.StopIf, BuildIf: i.BuildIf})
}

// ReviseAnswer gives a question another answer. An empty one leaves the
// question open, so that it is carried on with.
type ReviseAnswer struct {
	ByLead
	N      int
	Answer string
}

func (i ReviseAnswer) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canRevise(k, "answer"); err != nil {
		return nil, err
	}
	question := lists.Nth(k.Brief.Questions, i.N)
	if question == nil {
		return nil, refuseField("answer", "That question is not on the list.")
	}
	check := checkText("answer", "answer", i.Answer, MaxText, false)
	return revise(k, check, question.Answer != i.Answer, "questions", event.QuestionAnswered{N: i.N, Answer: i.Answer})
}

// afterSummary says what should follow from changes to the summary.
func afterSummary(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.PartChanged:
		// What people have read in the thread of the summary is kept true, and so is
		// its root, which holds the title, the problem and what is tested first.
		b.showUnder(ScreenPart, e.Part, ScreenSummary)
		b.canvas(RefreshCanvas)
		if e.Part == "problem" {
			b.refresh(ScreenSummary, "")
		}
	case event.MarksChanged:
		b.refresh(ScreenResult, string(state.StageTimebox))
	}
}
