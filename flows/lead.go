package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/state"
)

// This file holds what only leads can do, in whichever stage: close, extend,
// reopen, skip, and change who leads.

// CloseNow closes the open stage. Below quorum every lead has to wish it: the
// wish of one is noted, and the last one's closes.
type CloseNow struct{ ByLead }

func (i CloseNow) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	if err := stillOpen(k, "waits for you to settle it"); err != nil {
		return nil, err
	}
	if stageOf(k.Stage).held(k) {
		return nil, askOutside("People of another company read this channel. Have a look at the summary and post it yourself, so that they read it with your consent.")
	}
	if quorate(k) || allLeadsWish(k, i.Who) {
		return closeWindow(k, state.ClosedByLead, now), nil
	}
	return when(!k.Window.Wishes[i.Who], CloseWished{})
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

// CloseWished notes that a lead wishes to close below quorum.
type CloseWished struct{}

func (CloseWished) apply(k *state.Kickoff, _ time.Time, by state.UserID) {
	state.Put(k, &k.Window.Wishes, by, true)
}

// A wish below quorum waits for the other leads', so they are asked.
func (CloseWished) react(b *reaction) {
	if w := b.k.Window; w.Phase == state.PhaseOpen && len(state.Leading(b.k)) > 1 {
		b.tellLeads(ScreenQuorum, StageArg(w.Stage, w.Round))
	}
}

// Extend gives the open stage more working days.
type Extend struct {
	ByLead
	Days int // 1 to 10
}

func (i Extend) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if err := cmp.Or(
		refuseIf(i.Days < 1 || i.Days > 10, "", "A stage can be extended by 1 to 10 working days at a time."),
		stillOpen(k, "takes no answers. Reopen it to take more"),
	); err != nil {
		return nil, err
	}
	closes := fairClose(k, k.Window.Closes, time.Duration(i.Days)*workday, k.Window.Asked)
	return append([]Event{WindowMoved{Stage: k.Stage, Closes: closes}}, dealAnew(k)...), nil
}

// WindowMoved changes when the open window closes.
type WindowMoved struct {
	Stage  state.Stage
	Closes time.Time
}

func (e WindowMoved) apply(k *state.Kickoff, _ time.Time, _ state.UserID) { k.Window.Closes = e.Closes }
func (WindowMoved) react(b *reaction)                                     { b.progress() }

// Reopen takes the kickoff back to the last stage that closed. What people
// gave there and since is kept and counts again when its stage comes round.
// Ballots are not, once they were counted: nobody knows any more whose they
// were, so everybody is asked anew. Of a second round of rating none is: what
// is split may be something else then.
type Reopen struct{ ByLead }

func (i Reopen) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	if k.Stage == state.StageUnderway {
		return nil, refuse("The discovery is underway and its summary is out. Vote for another time box instead of going back.")
	}
	w, reopened := k.Window, StageReopened{}
	if w.Phase == state.PhaseOpen {
		if len(k.Past) == 0 {
			return nil, refuse("This is the first stage, so there is none to go back to.")
		}
		reopened.Left, reopened.LeftRound = w.Stage, w.Round
		w = k.Past[len(k.Past)-1]
	}
	reopened.Stage, reopened.Round, reopened.Asked = w.Stage, w.Round, stageOf(w.Stage).asks.of(k)
	if w.Round > 1 && len(k.Rounds[0].Ballots) == 0 {
		reopened.Round = 1 // nobody knows who rated what any more, so everything is rated anew
	}
	reopened.Closes = fairClose(k, now, paceOf(k), reopened.Asked)
	return afterwards(k, []Event{reopened}, now), nil
}

// StageReopened opens a closed stage again, with its answers as they were,
// and asks whoever takes part now.
type StageReopened struct {
	Stage     state.Stage
	Round     int `json:",omitempty"`
	Closes    time.Time
	Asked     []state.UserID
	Left      state.Stage `json:",omitempty"` // the stage that was open; it will come again
	LeftRound int         `json:",omitempty"`
}

func (e StageReopened) apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	if e.Left != "" {
		k.Past = k.Past[:len(k.Past)-1]
	}
	for n := len(k.Past); e.Round == 1 && n > 0 && k.Past[n-1].Stage == e.Stage; n = len(k.Past) {
		k.Past = k.Past[:n-1] // the first round is not behind itself
	}
	k.Stage = e.Stage
	k.Window = state.Window{Stage: e.Stage, Round: e.Round, Opened: at, Closes: e.Closes, Asked: slices.Clone(e.Asked), Phase: state.PhaseOpen}
	stageOf(e.Stage).clears(k, e.Round)
}

func (e StageReopened) react(b *reaction) {
	if e.Left != "" {
		b.show(ScreenStage, StageArg(e.Left, e.LeftRound))
		b.update(ScreenSettle, string(e.Left))
	}
	b.show(ScreenStage, StageArg(e.Stage, e.Round))
	b.tellLeads(ScreenDesk, "")
	b.update(ScreenSettle, string(e.Stage))
}

// SkipRoles leaves the stage roles out.
type SkipRoles struct{ ByLead }

func (i SkipRoles) decide(k *state.Kickoff, now time.Time) ([]Event, error) {
	if k.Stage != state.StageRoles && !yetToCome(k, state.StageRoles) {
		return nil, refuse("“%s” is over already.", TitleOf(state.StageRoles))
	}
	if k.Roles.Skipped {
		return nil, nil
	}
	skipped := []Event{RolesSettled{Skipped: true}}
	if k.Stage != state.StageRoles {
		return skipped, nil
	}
	closed := WindowClosed{Stage: state.StageRoles, Why: state.ClosedSkipped}
	return append(append(skipped, closed), openNext(k, now)...), nil
}

// HandOver makes another participant the lead in the actor's place; AddLead
// makes them a further one.
type HandOver struct {
	ByLead
	To state.UserID
}

func (i HandOver) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	leads := slices.DeleteFunc(slices.Clone(k.Leads), func(u state.UserID) bool { return u == i.Who || u == i.To })
	return provided(cmp.Or(
		canLead(k, i.To),
		refuseIf(i.To == i.Who, "to", "You lead this kickoff already. Choose somebody else."),
	), LeadsChanged{Leads: append([]state.UserID{i.To}, leads...)})
}

func canLead(k *state.Kickoff, u state.UserID) error {
	return refuseIf(!k.Takes(u), "to", "The new lead must take part in this kickoff. Invite them first.")
}

// AddLead makes a participant a further lead.
type AddLead struct {
	ByLead
	Person state.UserID
}

func (i AddLead) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	if err := canLead(k, i.Person); err != nil {
		return nil, err
	}
	return when(!k.IsLead(i.Person), LeadsChanged{Leads: append(slices.Clone(k.Leads), i.Person)})
}

// LeadsChanged says who leads from now on, the first one first.
type LeadsChanged struct{ Leads []state.UserID }

func (e LeadsChanged) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Leads = e.Leads
	if stageOf(k.Stage).asks == onlyLeads && k.Window.Phase == state.PhaseOpen {
		k.Window.Asked = state.Leading(k) // the closing words are for the new lead to write
	}
}

// Whoever leads from now on gets the controls, and what is to be settled.
func (e LeadsChanged) react(b *reaction) {
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
