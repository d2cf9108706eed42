package flows

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// talkDays is how many working days after the close of the kickoff a split that
// lasted is talked about: within the first week of the time box (common practice, no source).
const talkDays = 4

// openClose opens the last stage of the kickoff. Each split that lasted begins as a
// talk among the actions, for the lead, who may hand it on or take it off the list.
func openClose(k *state.Kickoff, opened event.StageOpened, _ time.Time) []event.Event {
	events, n, splits := []event.Event{opened}, len(k.Actions), state.LastingSplits(k)
	for _, id := range splits {
		if slices.ContainsFunc(k.Actions, func(a state.Action) bool { return a.For == state.ForSplit(id) }) {
			continue
		}
		n++
		events = append(events, event.ActionAdded{N: n, What: talkAbout(k, id), Owner: k.Lead().ID,
			Due: workdays.DayAfter(k.LeadHours(), opened.Closes, talkDays), For: state.ForSplit(id)})
	}
	for _, a := range k.StandingActions() { // rated anew, it may be split no more
		if id, talk := strings.CutPrefix(a.For, state.ForSplit("")); talk && a.Done == "" && !slices.Contains(splits, id) {
			events = append(events, event.ActionWithdrawn{N: a.N})
		}
	}
	return events
}

func talkAbout(k *state.Kickoff, id string) string {
	const most = 160
	a, _ := k.Assumption(id)
	text := []rune(strings.TrimRight(a.Text, ". \n"))
	if len(text) > most {
		text = append(text[:most-1], '…')
	}
	return "Talk with those who see " + id + " differently: " + string(text)
}

// AddAction adds something that somebody will do next. It can be added until
// the discovery ends: plans grow.
type AddAction struct {
	By
	What  string
	Owner state.UserID
	Due   state.LocalDay
}

func (i AddAction) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if k.Stage != state.StageUnderway {
		if err := canAnswer(k, state.StageClose); err != nil {
			return nil, err
		}
	}
	if err := checkAction(k, i.What, i.Owner, i.Due); err != nil {
		return nil, err
	}
	stands := slices.ContainsFunc(k.Actions, func(a state.Action) bool { return a == state.Action{N: a.N, What: i.What, Owner: i.Owner, Due: i.Due} })
	return when(!stands, event.ActionAdded{N: len(k.Actions) + 1, What: i.What, Owner: i.Owner, Due: i.Due})
}

func checkAction(k *state.Kickoff, what string, owner state.UserID, due state.LocalDay) error {
	_, noDay := time.Parse(time.DateOnly, string(due))
	return cmp.Or(
		checkText("what", "action", what, MaxText, true),
		refuseIf(!k.Takes(owner), "owner", "Choose an owner who takes part in this kickoff."),
		refuseIf(noDay != nil, "due", "Choose the day by which it is done."),
	)
}

// EditAction changes an action; its owner or a lead may.
type EditAction struct {
	By
	N     int
	What  string
	Owner state.UserID
	Due   state.LocalDay
}

func (i EditAction) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := mayChangeAction(k, i.N, i.Who); err != nil {
		return nil, err
	}
	if err := checkAction(k, i.What, i.Owner, i.Due); err != nil {
		return nil, err
	}
	a := k.Actions[i.N-1]
	changes := a != state.Action{N: i.N, What: i.What, Owner: i.Owner, Due: i.Due, Done: a.Done, For: a.For}
	return when(changes, event.ActionEdited{N: i.N, What: i.What, Owner: i.Owner, Due: i.Due})
}

func mayChangeAction(k *state.Kickoff, n int, who state.UserID) error {
	a := lists.Nth(k.Actions, n)
	if a == nil || a.Withdrawn {
		return refuseField("what", "That action is not on the list any more.")
	}
	return refuseIf(a.Owner != who && !k.IsLead(who), "", "Only %s or the lead can change that action.", k.Name(a.Owner))
}

// FinishAction says that an action is done; its owner or a lead may.
type FinishAction struct {
	By
	N int
}

func (i FinishAction) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := mayChangeAction(k, i.N, i.Who); err != nil {
		return nil, err
	}
	p, _ := k.Person(i.Who)
	return when(k.Actions[i.N-1].Done == "", event.ActionDone{N: i.N, On: workdays.DayAt(k.HoursOf(p), now)})
}

// WithdrawAction takes an action off the list.
type WithdrawAction struct {
	ByLead
	N int
}

func (i WithdrawAction) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canRevise(k, "what"); err != nil {
		return nil, err
	}
	a := lists.Nth(k.Actions, i.N)
	return when(a != nil && !a.Withdrawn, event.ActionWithdrawn{N: i.N})
}

func (b *reaction) actions() {
	b.contents(state.StageClose)
	b.closing()
	if b.k.Stage == state.StageUnderway {
		b.showUnder(ScreenPart, "actions", ScreenSummary)
		b.canvas(RefreshCanvas)
	}
}

// closing keeps current what leads read before they post the summary: what is still open.
func (b *reaction) closing() {
	for _, u := range state.Leading(b.k) {
		slot := Slot{Screen: ScreenSettle, Arg: string(state.StageClose), To: u}
		if _, posted := b.k.Posted[slot.Name()]; posted && b.k.Stage == state.StageClose {
			b.add(Effect{Do: Refresh, Slot: slot})
		}
	}
}

// refreshActions lets the summary say soon that actions are done: at a check-in
// several people say so within an hour.
func (b *reaction) refreshActions() {
	if b.k.Stage == state.StageUnderway {
		b.add(Effect{Do: RefreshLater, Slot: Slot{Screen: ScreenPart, Arg: "actions", Under: Slot{Screen: ScreenSummary}.Name()}})
	}
}

// PostSummary posts what the kickoff has agreed, and starts the time box.
type PostSummary struct {
	ByLead
	GoOn bool // although another company reads the channel
}

func (i PostSummary) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := canAnswer(k, state.StageClose); err != nil {
		return nil, err
	}
	if Held(k) && !i.GoOn {
		return nil, askOutside("People of another company read this channel. They would read the summary as well.")
	}
	events := finish(k, i.Who)
	if Held(k) {
		events = append(events, event.OutsideAgreed{})
	}
	events = append(events, event.WindowClosed{Stage: state.StageClose, Why: state.ClosedByLead}, event.SummaryPosted{})
	return append(events, openNext(k, now)...), nil
}

// postSummary ends the kickoff proper: the summary goes out and the time box
// begins, both in one decision, since a summary names the end of its box.
func postSummary(*state.Kickoff, time.Time) (counted, again []event.Event) {
	return []event.Event{event.SummaryPosted{}}, nil
}

func inspectChannel(b *reaction) { b.add(Effect{Do: InspectChannel}) } // the clock is about to post the summary

// afterClose says what should follow from the next steps and the summary being posted.
func afterClose(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.ActionAdded, event.ActionEdited, event.ActionWithdrawn:
		b.actions()
	case event.ActionDone:
		b.refreshActions()
	case event.SummaryPosted:
		b.tellLeads(ScreenSettle, string(state.StageClose))
		b.show(ScreenSummary, "")
		for _, part := range PartsOf(b.k) {
			b.showUnder(ScreenPart, part, ScreenSummary)
		}
		summary := Slot{Screen: ScreenSummary}
		b.add(Effect{Do: ShareFiles, Slot: summary})
		b.add(Effect{Do: Pin, Slot: summary})
		if b.k.Stage != state.StageEnded {
			b.add(Effect{Do: AddBookmark, Slot: summary})
		}
		b.canvas(UpdateCanvas)
	}
}
