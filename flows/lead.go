package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// This file holds what only leads can do, in whichever stage: close, extend,
// reopen, and change who leads.

// CloseNow closes the open stage. Below quorum every lead has to wish it: the
// wish of one is noted, and the last one's closes.
type CloseNow struct{ ByLead }

func (i CloseNow) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := stillOpen(k, "waits for you to settle it"); err != nil {
		return nil, err
	}
	if stageOf(k.Stage).held(k) {
		return nil, askOutside("People of another company read this channel. Have a look at the summary and post it yourself, so that they read it with your consent.")
	}
	if quorate(k) || allLeadsWish(k, i.Who) {
		return closeWindow(k, state.ClosedByLead, now), nil
	}
	return when(!k.Window.Wishes[i.Who], event.CloseWished{})
}

// stillOpen reports, as a refusal, that no stage takes answers now. instead says
// what a stage that has closed waits for.
func stillOpen(k *state.Kickoff, instead string) error {
	return cmp.Or(
		refuseIf(k.Stage == state.StageUnderway, "",
			"The discovery is underway: its check-ins and its vote close by themselves. You can open the decision at any time."),
		refuseIf(k.Window.Phase != state.PhaseOpen, "", "This stage has closed already and %s.", instead),
	)
}

func allLeadsWish(k *state.Kickoff, now state.UserID) bool {
	return !slices.ContainsFunc(k.Leads, func(u state.UserID) bool { return u != now && !k.Window.Wishes[u] && k.Takes(u) })
}

// Extend gives the open stage more working days.
type Extend struct {
	ByLead
	Days int // 1 to 10
}

func (i Extend) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := cmp.Or(
		refuseIf(i.Days < 1 || i.Days > 10, "", "A stage can be extended by 1 to 10 working days at a time."),
		stillOpen(k, "takes no answers. Reopen it to take more"),
	); err != nil {
		return nil, err
	}
	closes := fairClose(k, k.Window.Closes, time.Duration(i.Days)*workday, k.Window.Asked)
	return append([]event.Event{event.WindowMoved{Stage: k.Stage, Closes: closes}}, dealAnew(k)...), nil
}

// Reopen takes the kickoff back to the last stage that closed. What people
// gave there and since is kept and counts again when its stage comes round.
// Ballots are not, once they were counted: nobody knows any more whose they
// were, so everybody is asked anew. Of a second round of rating none is: what
// is split may be something else then.
type Reopen struct{ ByLead }

func (i Reopen) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if k.Stage == state.StageUnderway {
		return nil, refuse("The discovery is underway and its summary is out. Vote for another time box instead of going back.")
	}
	w, reopened := k.Window, event.StageReopened{}
	if w.Phase == state.PhaseOpen || stageOf(w.Stage).settles == leadsAlone {
		if len(k.Past) == 0 {
			return nil, refuse("This is the first stage, so there is none to go back to.")
		}
		reopened.Left, reopened.LeftRound = w.Stage, w.Round
		w = k.Past[len(k.Past)-1]
	}
	reopened.Stage, reopened.Round, reopened.Asked = w.Stage, w.Round, event.AskedIn(k, w.Stage)
	if w.Round > 1 && len(k.Rounds[0].Ballots) == 0 {
		reopened.Round = 1 // nobody knows who rated what any more, so everything is rated anew
	}
	reopened.Closes = fairClose(k, now, paceOf(k), reopened.Asked)
	events := []event.Event{reopened}
	if position(reopened.Left) > -1 && position(reopened.Left) < position(w.Stage) { // it was taken up after its turn, which does not come again
		events = []event.Event{event.StagesLeftOut{Stages: passedAgain(k, w.Stage), NotRating: k.NotRating}, reopened}
	}
	return afterwards(k, events, now), nil
}

// HandOver makes another participant the lead in the actor's place; AddLead
// makes them a further one.
type HandOver struct {
	ByLead
	To state.UserID
}

func (i HandOver) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	leads := slices.DeleteFunc(slices.Clone(k.Leads), func(u state.UserID) bool { return u == i.Who || u == i.To })
	events, err := provided(cmp.Or(
		canLead(k, i.To),
		refuseIf(i.To == i.Who, "to", "You lead this kickoff already. Choose somebody else."),
	), event.LeadsChanged{Leads: append([]state.UserID{i.To}, leads...)})
	// Who does not lead any more when the rating opens rates like the others.
	if rate := (LeaveOut{ByLead: i.ByLead, Own: OwnCount}).notRating(k); err == nil && RatingToCome(k) && len(rate) < len(k.NotRating) {
		events = append(events, event.StagesLeftOut{Stages: k.LeftOut, NotRating: rate})
	}
	return events, err
}

func canLead(k *state.Kickoff, u state.UserID) error {
	return refuseIf(!k.Takes(u), "to", "The new lead must take part in this kickoff. Invite them first.")
}

// AddLead makes a participant a further lead.
type AddLead struct {
	ByLead
	Person state.UserID
}

func (i AddLead) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	if err := canLead(k, i.Person); err != nil {
		return nil, err
	}
	return when(!k.IsLead(i.Person), event.LeadsChanged{Leads: append(slices.Clone(k.Leads), i.Person)})
}

// openAgain shows a stage that is open again. Where its message stands already, perhaps far
// up, a new one says so: nobody is told of a message that changes.
func (b *reaction) openAgain(e event.StageReopened) {
	slot := Slot{Screen: ScreenStage, Arg: StageArg(e.Stage, e.Round)}
	b.add(Effect{Do: Show, Slot: slot})
	if _, posted := b.k.Posted[slot.Name()]; posted {
		b.show(ScreenReopened, StageArg(e.Stage, int(b.k.Version)))
	}
}

// outdated brings what a stage came to up to date wherever it stands, since the stage is
// open again and something else may come of it.
func (b *reaction) outdated(s state.Stage) {
	for round := range lastRound + 1 {
		for _, screen := range []string{ScreenResult, ScreenRatings} {
			slot := Slot{Screen: screen, Arg: StageArg(s, round)}
			if _, posted := b.k.Posted[slot.Name()]; posted {
				b.add(Effect{Do: Show, Slot: slot})
			}
		}
	}
}

// afterLead says what should follow from what a lead has done.
func afterLead(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.CloseWished:
		// A wish below quorum waits for the other leads', so they are asked.
		if w := b.k.Window; w.Phase == state.PhaseOpen && len(state.Leading(b.k)) > 1 {
			b.tellLeads(ScreenQuorum, StageArg(w.Stage, w.Round))
		}
	case event.WindowMoved:
		b.progress()
	case event.StageReopened:
		if e.Left != "" {
			b.showStage(e.Left, e.LeftRound)
			b.update(ScreenSettle, string(e.Left))
		}
		b.openAgain(e)
		b.tellLeads(ScreenDesk, "")
		b.update(ScreenSettle, string(e.Stage))
		b.outdated(e.Stage)
	case event.LeadsChanged:
		// Whoever leads from now on gets the controls, and what is to be settled.
		b.update(ScreenDesk, "") // of those who led until now
		b.tellLeads(ScreenDesk, "")
		w := b.k.Window
		switch {
		case b.k.Underway.Decision.Phase == state.PhaseSettling:
			b.tellLeads(ScreenSettle, "decision/"+b.decisionArg())
		case w.Phase == state.PhaseSettling || w.Phase == state.PhaseOpen && stageOf(w.Stage).settles == leadsWhileOpen:
			b.tellLeads(ScreenSettle, string(w.Stage))
		}
	}
}
