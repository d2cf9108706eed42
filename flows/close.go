package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/lists"
	"soundings/flows/state"
)

// AddAction adds something that somebody will do next. It can be added until
// the discovery ends: plans grow.
type AddAction struct {
	By
	What  string
	Owner state.UserID
	Due   state.LocalDay
}

func (i AddAction) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if k.Stage != state.StageUnderway {
		if err := canAnswer(k, state.StageClose); err != nil {
			return nil, err
		}
	}
	if err := checkAction(k, i.What, i.Owner, i.Due); err != nil {
		return nil, err
	}
	stands := slices.ContainsFunc(k.Actions, func(a state.Action) bool { return a == state.Action{N: a.N, What: i.What, Owner: i.Owner, Due: i.Due} })
	return when(!stands, ActionAdded{N: len(k.Actions) + 1, What: i.What, Owner: i.Owner, Due: i.Due})
}

func checkAction(k *state.Kickoff, what string, owner state.UserID, due state.LocalDay) error {
	_, noDay := time.Parse(time.DateOnly, string(due))
	return cmp.Or(
		checkText("what", "action", what, MaxText, true),
		refuseIf(!k.Takes(owner), "owner", "Choose an owner who takes part in this kickoff."),
		refuseIf(noDay != nil, "due", "Choose the day by which it is done."),
	)
}

// ActionAdded adds an action under its number.
type ActionAdded struct {
	N     int
	What  string
	Owner state.UserID
	Due   state.LocalDay
}

func (e ActionAdded) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Add(k, &k.Actions, state.Action{N: e.N, What: e.What, Owner: e.Owner, Due: e.Due})
}
func (ActionAdded) react(b *reaction) { b.actions() }

// EditAction changes an action; its owner or a lead may.
type EditAction struct {
	By
	N     int
	What  string
	Owner state.UserID
	Due   state.LocalDay
}

func (i EditAction) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	a := lists.Nth(k.Actions, i.N)
	if a == nil || a.Withdrawn {
		return nil, refuseField("what", "That action is not on the list any more.")
	}
	if a.Owner != i.Who && !k.IsLead(i.Who) {
		return nil, refuse("Only %s or the lead can change that action.", k.Name(a.Owner))
	}
	if err := checkAction(k, i.What, i.Owner, i.Due); err != nil {
		return nil, err
	}
	changes := *a != state.Action{N: i.N, What: i.What, Owner: i.Owner, Due: i.Due}
	return when(changes, ActionEdited{N: i.N, What: i.What, Owner: i.Owner, Due: i.Due})
}

// ActionEdited changes an action.
type ActionEdited ActionAdded

func (e ActionEdited) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	a := &state.Own(k, &k.Actions)[e.N-1]
	a.What, a.Owner, a.Due = e.What, e.Owner, e.Due
}
func (ActionEdited) react(b *reaction) { b.actions() }

// WithdrawAction takes an action off the list.
type WithdrawAction struct {
	ByLead
	N int
}

func (i WithdrawAction) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if err := canRevise(k, "what"); err != nil {
		return nil, err
	}
	a := lists.Nth(k.Actions, i.N)
	return when(a != nil && !a.Withdrawn, ActionWithdrawn{N: i.N})
}

// ActionWithdrawn takes an action off the list; its number is not used again.
type ActionWithdrawn struct{ N int }

func (e ActionWithdrawn) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Own(k, &k.Actions)[e.N-1].Withdrawn = true
}
func (ActionWithdrawn) react(b *reaction) { b.actions() }

func (b *reaction) actions() {
	b.contents(state.StageClose)
	if b.k.Stage == state.StageUnderway {
		b.showUnder(ScreenPart, "actions", ScreenSummary)
		b.canvas(RefreshCanvas)
	}
}

// PostSummary posts what the kickoff has agreed, and starts the time box.
type PostSummary struct {
	ByLead
	GoOn bool // although another company reads the channel
}

func (i PostSummary) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	if err := canAnswer(k, state.StageClose); err != nil {
		return nil, err
	}
	if Held(k) && !i.GoOn {
		return nil, askOutside("People of another company read this channel. They would read the summary as well.")
	}
	events := finish(k, i.Who)
	if Held(k) {
		events = append(events, OutsideAgreed{})
	}
	events = append(events, WindowClosed{Stage: state.StageClose, Why: state.ClosedByLead}, SummaryPosted{})
	return append(events, openNext(k, now)...), nil
}

// postSummary ends the kickoff proper: the summary goes out and the time box
// begins, both in one decision, since a summary names the end of its box.
func postSummary(*state.Kickoff, time.Time) (counted, again []Event) {
	return []Event{SummaryPosted{}}, nil
}

func inspectChannel(b *reaction) { b.add(Effect{Do: InspectChannel}) } // the clock is about to post the summary

// SummaryPosted marks the moment at which the summary goes out.
type SummaryPosted struct{}

func (SummaryPosted) apply(*state.Kickoff, time.Time, state.UserID) {}

func (SummaryPosted) react(b *reaction) {
	b.tellLeads(ScreenSettle, string(state.StageClose))
	b.show(ScreenSummary, "")
	for _, part := range Parts() {
		b.showUnder(ScreenPart, part, ScreenSummary)
	}
	summary := Slot{Screen: ScreenSummary}
	b.add(Effect{Do: ShareFiles, Slot: summary})
	b.add(Effect{Do: Pin, Slot: summary})
	b.add(Effect{Do: AddBookmark, Slot: summary})
	b.canvas(UpdateCanvas)
}
