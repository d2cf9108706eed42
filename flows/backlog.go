package flows

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// VoteKinds says which kind of risk each assumption is; the last vote counts.
type VoteKinds struct {
	By
	Kinds map[string]state.Kind
}

func (i VoteKinds) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canAnswer(k, state.StageBacklog); err != nil {
		return nil, err
	}
	var events []event.Event
	for _, id := range k.Order() {
		kind, voted := i.Kinds[id]
		if !voted {
			continue
		}
		if !slices.Contains(state.Kinds(), kind) {
			return nil, refuseField("kind", "Choose desirability, viability, feasibility or usability.")
		}
		if k.Backlog.Kinds[id][i.Who] != kind {
			events = append(events, event.KindVoted{Assumption: id, Kind: kind})
		}
	}
	for id := range i.Kinds {
		if !slices.Contains(k.Order(), id) {
			return nil, refuseField("kind", "There is no assumption %s on the list.", id)
		}
	}
	return events, nil
}

// gaveBacklog reports whether u said what kind of risk something is, or
// added a test that stands.
func gaveBacklog(k *state.Kickoff, u state.UserID, _ int) bool {
	for _, votes := range k.Backlog.Kinds {
		if lists.Has(votes, u) {
			return true
		}
	}
	return slices.ContainsFunc(k.Backlog.Tests, func(t state.Test) bool { return t.By == u && !t.Withdrawn })
}

// Limits of a test. Discovery tests that take longer are projects.
const (
	maxEffortDays = 60
	maxLeadDays   = 60
	maxSize       = 1_000_000
	MaxUnit       = 30
	maxFigure     = 1e12 // of a pass mark, either way
)

func checkPlan(k *state.Kickoff, p state.Plan) error {
	return cmp.Or(
		refuseIf(!slices.Contains(k.Order(), p.Assumption), "assumption", "There is no assumption %s on the list.", p.Assumption),
		checkText("method", "method", p.Method, MaxTitle, true),
		checkText("learn", "“what we learn”", p.Learn, MaxText, false),
		refuseIf(!within(p.PassShare, 1), "pass", "The pass mark is a share from 0 to 100 %%."),
		refuseIf(!within(p.EffortDays, maxEffortDays), "effort", "The effort is 0 to %d person-days.", maxEffortDays),
		refuseIf(!within(p.LeadDays, maxLeadDays), "lead", "The lead time is 0 to %d working days.", maxLeadDays),
		refuseIf(p.Size < 0 || p.Size > maxSize, "size", "The number of people or cases is 0 to %d.", maxSize),
		refuseIf(p.Census && p.Size == 0, "size", "How many are there in all? Give the number, or leave the box unticked."),
		checkMark(p),
		checkDay(p.NotBefore),
		refuseIf(p.Owner != "" && !k.Takes(p.Owner), "owner", "The owner must take part in this kickoff."),
	)
}

// checkMark refuses a plan with two pass marks: a share, a figure and a yes
// are judged in different ways.
func checkMark(p state.Plan) error {
	kinds := 0
	for _, is := range []bool{p.PassShare > 0, p.Bound.Unit != "", p.YesNo} {
		if is {
			kinds++
		}
	}
	return cmp.Or(
		refuseIf(kinds > 1, "pass", "Choose one pass mark: a share, a figure, or a yes."),
		checkText("unit", "unit", p.Bound.Unit, MaxUnit, p.Bound.At != 0),
		refuseIf(strings.ContainsFunc(p.Bound.Unit, notOfUnit), "unit", "A unit has letters, digits, spaces and %% / . - only, such as minutes or EUR."),
		refuseIf(!within(math.Abs(p.Bound.At), maxFigure), "bound", "The figure is at most %.0f.", maxFigure),
		refuseIf(p.Census && kinds > 0 && p.PassShare == 0, "census", "All there are goes with a share: “all of 2” is 100 %%."),
	)
}

// checkDay refuses what is no date; none may be given.
func checkDay(day state.LocalDay) error {
	_, noDay := time.Parse(time.DateOnly, string(day))
	return refuseIf(day != "" && noDay != nil, "not_before", "Choose the day before which it will not begin.")
}

// notOfUnit reports what does not belong into a unit, which stands in sentences of ours.
func notOfUnit(r rune) bool {
	return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune(" %/.-", r)
}

// within reports whether x lies between 0 and most; what is no number at all
// does not.
func within(x, most float64) bool { return x >= 0 && x <= most }

// AddTest adds a way to find out.
type AddTest struct {
	By
	state.Plan
}

func (i AddTest) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := cmp.Or(canPlan(k), checkPlan(k, i.Plan)); err != nil {
		return nil, err
	}
	n, plan := len(k.Backlog.Tests)+1, WithCare(i.Plan)
	// One that stands there already was sent again, after an answer that was lost.
	if slices.ContainsFunc(k.TestsOf(plan.Assumption), func(t state.Test) bool { return t.By == i.Who && state.PlanOf(t) == plan }) {
		return nil, nil
	}
	return append([]event.Event{event.TestAdded{N: n, Plan: plan, Since: since(k)}}, approval(k, n, plan, i.Who, now)...), nil
}

// canPlan lets people plan tests underway as well: a result raises questions.
func canPlan(k *state.Kickoff) error {
	if k.Stage == state.StageUnderway {
		return nil
	}
	return canAnswer(k, state.StageBacklog)
}

// since is the check-in from which on something counts that is added now; 0 before
// the discovery is underway.
func since(k *state.Kickoff) int {
	if k.Stage != state.StageUnderway {
		return 0
	}
	return len(k.Underway.Checkins) + 1
}

// listed keeps current what lists assumptions or tests: the message of their
// stage, and underway the check-in and that part of the summary.
func (b *reaction) listed(s state.Stage, part string) {
	b.contents(s)
	b.closing()
	if b.k.Stage == state.StageUnderway {
		b.checkin()
		b.showUnder(ScreenPart, part, ScreenSummary)
		if state.OpenCheckin(b.k) == nil { // whose close brings it up to date
			b.canvas(RefreshCanvas)
		}
	}
}

// EditTest changes a test, puts it off or hands it over; whoever added or owns
// it, or a lead, may. Underway its pass mark stays.
type EditTest struct {
	By
	N int
	state.Plan
}

func (i EditTest) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := cmp.Or(mayChangeTest(k, i.N, i.Who), checkPlan(k, i.Plan), checkFixed(k, i)); err != nil {
		return nil, err
	}
	t, _ := k.Test(i.N)
	plan := i.Plan
	if !t.Care {
		plan = WithCare(plan)
	}
	if k.Stage == state.StageUnderway && state.PlanOf(t) == plan {
		return nil, nil
	}
	events := append([]event.Event{event.TestEdited{N: i.N, Plan: plan}}, approval(k, i.N, plan, i.Who, now)...)
	if markOf(state.PlanOf(t)) != markOf(plan) { // what people expect was said of another question
		events = append(events, event.EmptyForesight(k, i.N)...)
	}
	return events, nil
}

func mayChangeTest(k *state.Kickoff, n int, who state.UserID) error {
	t, ok := k.Test(n)
	return cmp.Or(
		canPlan(k),
		refuseIf(!ok, "", "There is no test %d.", n),
		refuseIf(t.By != who && t.Owner != who && !k.IsLead(who), "", "Only %s, the owner, or the lead can change that test.", k.Name(t.By)),
	)
}

// checkFixed refuses to move what was fixed before anybody looked.
func checkFixed(k *state.Kickoff, i EditTest) error {
	t, _ := k.Test(i.N)
	return refuseIf(MarkIsFixed(k, t) && markOf(state.PlanOf(t)) != markOf(i.Plan), "pass",
		"What counts as support was fixed before anybody looked, so it stays. Plan another test beside this one.")
}

// markOf is what a plan asks, and what counts as support.
func markOf(p state.Plan) state.Plan {
	return state.Plan{Assumption: p.Assumption, PassShare: p.PassShare, Size: p.Size, Census: p.Census, Bound: p.Bound, YesNo: p.YesNo}
}

// MarkIsFixed reports that the pass mark of a test and its number stay as they
// are: from the day on which the time box began, or of a test that was added
// since, from its first result on.
func MarkIsFixed(k *state.Kickoff, t state.Test) bool {
	return k.Stage == state.StageUnderway && (t.Since == 0 || len(state.Results(k.Underway, t.N)) > 0)
}

// DropTest gives a test up underway, and says why. What it has found stays.
type DropTest struct {
	By
	N   int
	Why string
}

func (i DropTest) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	events := append([]event.Event{event.TestDropped{N: i.N, Why: i.Why}}, approvalNotNeeded(k, i.N)...)
	events = append(events, event.EmptyForesight(k, i.N)...)
	return provided(cmp.Or(
		refuseIf(k.Stage != state.StageUnderway, "why", "Before the time box begins a test is simply taken off the list."),
		mayChangeTest(k, i.N, i.Who),
		checkText("why", "reason", i.Why, MaxSentence, true),
	), events...)
}

// WithdrawTest takes a test off the backlog, before the time box begins.
type WithdrawTest struct {
	By
	N int
}

func (i WithdrawTest) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	events := append([]event.Event{event.TestWithdrawn{N: i.N}}, approvalNotNeeded(k, i.N)...)
	events = append(events, event.EmptyForesight(k, i.N)...)
	return provided(cmp.Or(
		refuseIf(k.Stage == state.StageUnderway, "", "The time box has begun, so a test is dropped with a word why."),
		mayChangeTest(k, i.N, i.Who),
	), events...)
}

func showBacklog(b *reaction) {
	plan := Slot{Screen: ScreenResult, Arg: string(state.StageBacklog)}
	b.show(plan.Screen, plan.Arg)
	if len(ToForesee(b.k)) > 0 {
		b.showUnder(ScreenForesight, "", plan.Name())
	}
}

// afterBacklog says what should follow from the plan of tests.
func afterBacklog(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.TestAdded, event.TestDropped:
		b.listed(state.StageBacklog, "backlog")
		if _, posted := b.k.Posted[ScreenForesight]; posted && len(b.k.Underway.Checkins) == 0 { // which asks about it
			b.refresh(ScreenForesight, "")
		}
	case event.TestEdited:
		b.listed(state.StageBacklog, "backlog")
		if !yetToCome(b.k, state.StageClose) {
			b.refresh(ScreenResult, string(state.StageBacklog))
		}
	case event.TestWithdrawn:
		b.contents(state.StageBacklog)
	}
}
