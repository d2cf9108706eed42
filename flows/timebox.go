package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/engine"
	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/tally"
	"soundings/flows/workdays"
)

// MaxWeeks bounds a time box: longer than a quarter is a project.
const MaxWeeks = 12

// openTimebox proposes weeks with it, from the plan as it stands.
func openTimebox(k *state.Kickoff, opened event.StageOpened, _ time.Time) []event.Event {
	return []event.Event{opened, event.WeeksProposed{Proposal: tally.Proposal(k, nil)}}
}

// VoteWeeks says how many weeks the actor would give, and may say with it what
// VoteOutlook does. The weeks are what finishes the stage.
type VoteWeeks struct {
	By
	Weeks int         // 1 to MaxWeeks
	Worth int         // 0 leaves it as it is
	Cost  engine.Cost // empty leaves it as it is
	More  bool        // the actor can still choose the other two where they chose this
}

func (i VoteWeeks) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	var events []event.Event
	if i.Worth != 0 || i.Cost != "" {
		events = append(events, event.OutlookVoted{Worth: i.Worth, Cost: i.Cost})
	}
	events = append(events, event.WeeksVoted{Weeks: i.Weeks})
	return provided(cmp.Or(canAnswer(k, state.StageTimebox), checkWeeks(i.Weeks), checkOutlook(i.Worth, i.Cost)),
		append(events, finishOne(k, i.Who, !i.More || saidOutlook(k, i.Who, i.Worth, i.Cost), now)...)...)
}

// saidOutlook reports that somebody has said what VoteOutlook asks, with what they say now.
func saidOutlook(k *state.Kickoff, who state.UserID, worth int, cost engine.Cost) bool {
	return (worth != 0 || k.Timebox.Worth[who] != 0) && (cost != "" || k.Timebox.Cost[who] != "")
}

// VoteOutlook says how likely the actor thinks it that this is worth building, or
// what being wrong would cost. At least one of the two is given.
type VoteOutlook struct {
	By
	Worth int         // 1 surely not, 9 surely; 0 leaves it as it is
	Cost  engine.Cost // empty leaves it as it is
}

func (i VoteOutlook) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	events := []event.Event{event.OutlookVoted{Worth: i.Worth, Cost: i.Cost}}
	if gaveTimebox(k, i.Who, 0) && saidOutlook(k, i.Who, i.Worth, i.Cost) { // the weeks were chosen before
		events = append(events, finishOne(k, i.Who, true, now)...)
	}
	return provided(cmp.Or(canAnswer(k, state.StageTimebox),
		refuseIf(i.Worth == 0 && i.Cost == "", "worth", "Choose one of the answers."),
		checkOutlook(i.Worth, i.Cost)), events...)
}

func checkOutlook(worth int, cost engine.Cost) error {
	return cmp.Or(
		refuseIf(worth < 0 || worth > 9, "worth", "Choose a whole number from 1 to 9."),
		refuseIf(cost != "" && !slices.Contains(engine.Costs(), cost), "cost", "Choose one of the three: a day, a quarter, the company’s name."),
	)
}

func checkWeeks(weeks int) error {
	return refuseIf(weeks < 1 || weeks > MaxWeeks, "weeks", "A time box has 1 to %d weeks.", MaxWeeks)
}

func countWeeks(k *state.Kickoff, _ time.Time) (counted, again []event.Event) {
	median, iqr := state.SpreadOf(k.Timebox.Votes)
	outlook := state.OutlookOf(k.Timebox)
	votes, proposal := event.WeeksCounted{Median: median, IQR: iqr, Voters: len(k.Timebox.Votes), Outlook: outlook}, k.Timebox.Proposal
	if outlook != nil || k.Timebox.Outlook != nil { // the latter: it was counted before, and is open again
		proposal = tally.Proposal(k, outlook)
		counted = append(counted, event.WeeksProposed{Proposal: proposal})
	}
	votes.Than = state.ThanProposed(k.Timebox.Votes, proposal.Weeks)
	return append([]event.Event{votes}, counted...), nil
}

// settleTimeboxAsProposed is what stands when the lead sets nothing. What they wrote
// down before the stage was opened again is kept.
func settleTimeboxAsProposed(k *state.Kickoff) event.Event {
	t := k.Timebox
	set := event.TimeboxSet{Weeks: tally.ProposedWeeks(k), Checkin: time.Wednesday, StopIf: t.StopIf, BuildIf: t.BuildIf, StopOn: t.StopOn, BuildOn: t.BuildOn}
	if t.Weeks > 0 {
		set.Checkin = t.Checkin
	}
	return set
}

// SetTimebox sets the weeks and the check-in day, and writes down beforehand
// what would make us stop and what would make us build.
type SetTimebox struct {
	ByLead
	Weeks   int
	Checkin time.Weekday
	StopIf  string
	BuildIf string
	StopOn  string // an assumption or a test, as in state.Timebox; empty: not tested
	BuildOn string
}

func (i SetTimebox) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	check := cmp.Or(
		checkWeeks(i.Weeks),
		refuseIf(i.Checkin < time.Sunday || i.Checkin > time.Saturday, "checkin", "Choose a day of the week for the check-ins."),
		checkMarks(i.StopIf, i.BuildIf),
		checkOn(k, "stop_on", i.StopOn),
		checkOn(k, "build_on", i.BuildOn),
	)
	return settle(k, state.StageTimebox, check, event.TimeboxSet{Weeks: i.Weeks, Checkin: i.Checkin, StopIf: i.StopIf, BuildIf: i.BuildIf, StopOn: i.StopOn, BuildOn: i.BuildOn}, now)
}

func checkMarks(stopIf, buildIf string) error {
	return cmp.Or(
		checkText("stop_if", "“we stop if”", stopIf, MaxText, false),
		checkText("build_if", "“we build if”", buildIf, MaxText, false),
	)
}

// checkOn refuses a mark that hangs on what is not there.
func checkOn(k *state.Kickoff, field, on string) error {
	test := slices.ContainsFunc(k.Backlog.Tests, func(t state.Test) bool { return !t.Withdrawn && state.TestOn(t.N) == on })
	return refuseIf(on != "" && !test && !slices.Contains(k.Order(), on), field, "Choose an assumption or a test that tells, or “not tested”.")
}

func gaveTimebox(k *state.Kickoff, u state.UserID, _ int) bool {
	return lists.Has(k.Timebox.Votes, u)
}

// usualWeeks are what a time box is reckoned with before there is a proposal (common
// practice, no source).
const usualWeeks = 4

// DecisionAbout is when it is decided whether to build: the end of the time box, or
// before it has begun about when that is, if every stage takes the time that it may.
// It is zero where no time box is planned, or the kickoff has ended.
func DecisionAbout(k *state.Kickoff) (at time.Time, certain bool) {
	if k.LeavesOut(state.StageTimebox) || k.Stage == state.StageEnded || k.Started.IsZero() {
		return at, false
	}
	if !k.Timebox.Ends.IsZero() {
		return k.Timebox.Ends, true
	}
	at = *state.WaitOf(k).End
	for _, s := range stages[position(k.Stage):] {
		if s.settles == leadsAlone || k.LeavesOut(s.name) || position(s.name) >= position(state.StageUnderway) {
			continue
		}
		if s.name != k.Stage {
			at = workdays.Had(k.LeadHours(), at, paceOf(k))
		}
		if s.settles == leadsOnceClosed && !(s.name == k.Stage && k.Window.Phase == state.PhaseSettling) {
			at = workdays.Had(k.LeadHours(), at, workday)
		}
	}
	weeks := usualWeeks
	if k.Timebox.Weeks > 0 {
		weeks = k.Timebox.Weeks
	} else if k.Timebox.Proposal.Weeks > 0 {
		weeks = tally.ProposedWeeks(k)
	}
	return workdays.Close(k.LeadHours(), at, weeks), false
}

// afterTimebox says what should follow from the time box.
func afterTimebox(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.TimeboxSet:
		if b.k.Stage != state.StageUnderway {
			b.refresh(ScreenStage, string(state.StageTimebox)) // it said who would settle it, and by when
		}
		b.tellLeads(ScreenSettle, string(state.StageTimebox))
		b.show(ScreenResult, string(state.StageTimebox))
	}
}
