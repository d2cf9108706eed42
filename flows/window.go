package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/workdays"
)

// This file holds what all stages share: a window opens, people finish, it
// closes at a fair moment, and where the result needs it the lead settles.

// StageOpened begins a window.
type StageOpened struct {
	Stage  Stage
	Round  int `json:",omitempty"`
	Closes time.Time
	Asked  []UserID
}

func (e StageOpened) apply(k *Kickoff, at time.Time, _ UserID) {
	shelveWindow(k)
	k.Stage = e.Stage
	asked := slices.Clone(e.Asked) // the window's list changes as people come and go, the event's never
	k.Window = Window{Stage: e.Stage, Round: e.Round, Opened: at, Closes: e.Closes, Asked: asked, Phase: PhaseOpen}
}

func (e StageOpened) react(b *reaction) {
	b.show(ScreenStage, StageArg(e.Stage, e.Round))
	b.tellLeads(ScreenDesk, "")
	if stageOf(e.Stage).settles == leadsWhileOpen {
		b.tellLeads(ScreenSettle, string(e.Stage))
	}
}

// shelveWindow puts the last window away: it waits for nothing any more.
func shelveWindow(k *Kickoff) {
	if k.Window.Stage != "" {
		k.Window.Phase = PhaseClosed
		add(k, &k.Past, k.Window)
	}
}

// openStage is the event that opens a window now, for everyone it asks.
func openStage(k *Kickoff, s Stage, asks audience, now time.Time) StageOpened {
	asked := asks.of(k)
	return StageOpened{Stage: s, Asked: asked, Closes: fairClose(k, now, paceOf(k), asked)}
}

func paceOf(k *Kickoff) time.Duration { return time.Duration(max(k.Pace, 1)) * workday }

// FinishedStage says that somebody has given all they want to give in the
// openStage window. They may still change it until it closes.
type FinishedStage struct{ Stage Stage }

func (e FinishedStage) apply(k *Kickoff, at time.Time, by UserID) {
	if k.Window.Stage == e.Stage && k.Window.Phase == PhaseOpen {
		put(k, &k.Window.Done, by, at)
	}
}
func (FinishedStage) react(b *reaction) { b.progress() }

// finish marks who as finished, once.
func finish(k *Kickoff, who UserID) []Event {
	if has(k.Window.Done, who) {
		return nil
	}
	return []Event{FinishedStage{Stage: k.Window.Stage}}
}

// Finish is a person's "that is all from me" in the stage named. Naming it
// keeps a button of yesterday's stage from finishing today's.
type Finish struct {
	By
	Stage Stage
	Round int
}

func (i Finish) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	return provided(cmp.Or(canAnswer(k, i.Stage), stillRound(k, i.Round)), finish(k, i.Who)...)
}

// stillRound refuses what belongs to another round of rating than the open one.
func stillRound(k *Kickoff, round int) error {
	return refuseIf(round != k.Window.Round, "", "That round of rating has closed. Open your ballot again from the newest message.")
}

// canAnswer reports, as a refusal, that stage s takes no answers now.
func canAnswer(k *Kickoff, s Stage) error {
	if k.Stage == s && k.Window.Phase == PhaseOpen {
		return nil
	}
	if yetToCome(k, s) {
		return refuse("“%s” has not opened yet. You will see a message here when it does.", s.Title())
	}
	return refuse("“%s” has closed, so this was not taken. If it matters, ask %s to reopen it.", s.Title(), leadName(k))
}

// canSettle reports, as a refusal, that stage s is not waiting for the lead.
// A lead may settle while the window is still open only by closing it first.
func canSettle(k *Kickoff, s Stage) error {
	if k.Stage == s && k.Window.Phase == PhaseSettling {
		return nil
	}
	if k.Stage == s {
		return refuse("People are still answering. Close the stage first, then settle it.")
	}
	if yetToCome(k, s) {
		return refuse("“%s” has not opened yet. It can be settled once people have answered.", s.Title())
	}
	return refuse("“%s” has been settled already. Reopen it if it must change.", s.Title())
}

// owing lists who was asked and has not finished.
func owing(k *Kickoff) []UserID {
	return keep(k.Window.Asked, func(u UserID) bool { return owes(k, u) })
}

// owes reports that somebody who was asked has not finished.
func owes(k *Kickoff, u UserID) bool { return !has(k.Window.Done, u) && k.Takes(u) }

// allFinished reports that nobody owes anything of those who were asked.
func allFinished(k *Kickoff) bool {
	return len(k.Window.Asked) > 0 && !slices.ContainsFunc(k.Window.Asked, func(u UserID) bool { return owes(k, u) })
}

// Heard counts those asked in w who gave anything there, whether or not they
// said that it was all. Who voted before a window was opened again still
// counts: their vote does.
func (k *Kickoff) Heard(w Window) int {
	if w.Answers != nil {
		return min(w.Answers.Heard, len(w.Asked))
	}
	n := 0
	for _, u := range w.Asked {
		if has(w.Done, u) || stageOf(w.Stage).given(k, u, w.Round) {
			n++
		}
	}
	return n
}

func quorate(k *Kickoff) bool { return k.Heard(k.Window) >= k.Window.Quorum() }

// dueWindow closes the open window when everybody has finished or its time
// is up, and sends the reminders that are due before that.
func dueWindow(k *Kickoff, now time.Time) []Event {
	w := k.Window
	switch {
	case stageOf(w.Stage).held(k):
		return dueHeld(k, now)
	case allFinished(k):
		return closeWindow(k, ClosedComplete, now)
	case now.Before(w.Closes):
		return dueReminders(k, waitOf(k), now)
	case quorate(k) || w.Extended:
		return closeWindow(k, ClosedInTime, now)
	}
	return []Event{QuorumMissed{Stage: w.Stage, Closes: fairClose(k, now, workday, w.Asked)}}
}

// QuorumMissed gives the window one more working day, and asks the lead
// whether to use it.
type QuorumMissed struct {
	Stage  Stage
	Closes time.Time
}

func (e QuorumMissed) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Window.Extended = true
	k.Window.Closes = e.Closes
}

func (e QuorumMissed) react(b *reaction) {
	b.tellLeads(ScreenQuorum, StageArg(e.Stage, b.k.Window.Round))
	stageOf(e.Stage).extended(b)
	b.progress()
}

// quorumAnswered takes the question whether to wait off the leads' screens.
func (b *reaction) quorumAnswered(s Stage) {
	b.update(ScreenQuorum, string(s))
	for n := range b.k.Rounds {
		b.update(ScreenQuorum, StageArg(s, n+1))
	}
}

// WindowClosed ends the taking of answers. Until is set when the lead has
// something to settle.
type WindowClosed struct {
	Stage Stage
	Why   CloseReason
	Thin  bool      `json:",omitempty"`
	Until time.Time `json:",omitzero"`

	Answers *Answers `json:",omitempty"`
}

// Answers count who had answered in a window when it closed, where ballots are
// secret: with few answers, a list of names would stand beside what they said.
type Answers struct {
	Finished int
	Heard    int // gave something, and said or did not say that it was all
}

// answersOf counts who has answered so far in the open window; nil where that
// is nobody's secret.
func answersOf(k *Kickoff) *Answers {
	w := k.Window
	if !IsBoxed(w.Stage) || w.Phase != PhaseOpen {
		return nil
	}
	return &Answers{Finished: w.Finished(), Heard: k.Heard(w)}
}

// count leaves of who answered in the window how many they are.
func (w *Window) count(a *Answers) {
	if a != nil {
		w.Answers, w.Done = a, nil
	}
}

func (e WindowClosed) apply(k *Kickoff, at time.Time, _ UserID) {
	w := &k.Window
	w.count(e.Answers)
	w.Closed, w.Why, w.Thin, w.Until, w.Phase = at, e.Why, e.Thin, e.Until, PhaseClosed
	if !e.Until.IsZero() {
		w.Phase = PhaseSettling
	}
}

func (e WindowClosed) react(b *reaction) {
	for _, w := range slices.Backward(append(slices.Clone(b.k.Past), b.k.Window)) {
		if w.Stage == e.Stage && w.Phase != PhaseOpen {
			b.show(ScreenStage, StageArg(w.Stage, w.Round))
			break
		}
	}
	if !e.Until.IsZero() {
		b.tellLeads(ScreenSettle, string(e.Stage))
		b.controls() // closing and extending are over; opening again is not
	}
	b.quorumAnswered(e.Stage)
	stageOf(e.Stage).closed(b)
}

// closeWindow closes the open window and adds what follows from it: figures,
// and where the leads have nothing to settle another round or the next stage.
func closeWindow(k *Kickoff, why CloseReason, now time.Time) []Event {
	row := stageOf(k.Stage)
	counted, again := row.counts(k, now)
	if len(again) == 0 {
		counted = append(counted, emptied(string(k.Stage))...)
	}
	closed := WindowClosed{Stage: k.Stage, Why: why, Thin: !quorate(k), Answers: answersOf(k)}
	if row.settles == leadsOnceClosed {
		closed.Until = workdays.Had(k.LeadHours(), now, workday)
	}
	events := append([]Event{closed}, counted...)
	switch {
	case row.settles == leadsOnceClosed:
		return events
	case len(again) > 0:
		return append(events, again...)
	}
	return append(events, openNext(k, now)...)
}

// settle gives the events by which a lead settles stage s, unless it does not
// wait for that or a check refuses it.
func settle(k *Kickoff, s Stage, check error, settled Event, now time.Time) ([]Event, error) {
	if err := cmp.Or(canSettle(k, s), check); err != nil {
		return nil, err
	}
	return settleStage(k, settled, now), nil
}

// settleStage settles what the present stage came to and opens the next one.
func settleStage(k *Kickoff, settled Event, now time.Time) []Event {
	return append([]Event{settled}, openNext(k, now)...)
}

// dueSettling takes the proposal as it stands when the lead was silent for a
// working day: one person's absence must not stop everybody else.
func dueSettling(k *Kickoff, now time.Time) []Event {
	if now.Before(k.Window.Until) {
		return nil
	}
	return settleStage(k, stageOf(k.Stage).silent(k), now)
}
