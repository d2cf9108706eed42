package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// This file holds what all stages share: a window opens, people finish, it
// closes at a fair moment, and where the result needs it the lead settles.

// StageOpened begins a window.
type StageOpened struct {
	Stage  state.Stage
	Round  int `json:",omitempty"`
	Closes time.Time
	Asked  []state.UserID
}

func (e StageOpened) apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	shelveWindow(k)
	k.Stage = e.Stage
	asked := slices.Clone(e.Asked) // the window's list changes as people come and go, the event's never
	k.Window = state.Window{Stage: e.Stage, Round: e.Round, Opened: at, Closes: e.Closes, Asked: asked, Phase: state.PhaseOpen}
}

func (e StageOpened) react(b *reaction) {
	b.show(ScreenStage, StageArg(e.Stage, e.Round))
	b.tellLeads(ScreenDesk, "")
	if stageOf(e.Stage).settles == leadsWhileOpen {
		b.tellLeads(ScreenSettle, string(e.Stage))
	}
}

// shelveWindow puts the last window away: it waits for nothing any more.
func shelveWindow(k *state.Kickoff) {
	if k.Window.Stage != "" {
		k.Window.Phase = state.PhaseClosed
		state.Add(k, &k.Past, k.Window)
	}
}

// openStage is the event that opens a window now, for everyone it asks.
func openStage(k *state.Kickoff, s state.Stage, asks audience, now time.Time) StageOpened {
	asked := asks.of(k)
	return StageOpened{Stage: s, Asked: asked, Closes: fairClose(k, now, paceOf(k), asked)}
}

func paceOf(k *state.Kickoff) time.Duration { return time.Duration(max(k.Pace, 1)) * workday }

// FinishedStage says that somebody has given all they want to give in the
// openStage window. They may still change it until it closes.
type FinishedStage struct{ Stage state.Stage }

func (e FinishedStage) apply(k *state.Kickoff, at time.Time, by state.UserID) {
	if k.Window.Stage == e.Stage && k.Window.Phase == state.PhaseOpen {
		state.Put(k, &k.Window.Done, by, at)
	}
}
func (FinishedStage) react(b *reaction) { b.progress() }

// finish marks who as finished, once.
func finish(k *state.Kickoff, who state.UserID) []Event {
	if lists.Has(k.Window.Done, who) {
		return nil
	}
	return []Event{FinishedStage{Stage: k.Window.Stage}}
}

// Finish is a person's "that is all from me" in the stage named. Naming it
// keeps a button of yesterday's stage from finishing today's.
type Finish struct {
	By
	Stage state.Stage
	Round int
}

func (i Finish) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	return provided(cmp.Or(canAnswer(k, i.Stage), stillRound(k, i.Round)), finish(k, i.Who)...)
}

// stillRound refuses what belongs to another round of rating than the open one.
func stillRound(k *state.Kickoff, round int) error {
	return refuseIf(round != k.Window.Round, "", "That round of rating has closed. Open your ballot again from the newest message.")
}

// canAnswer reports, as a refusal, that stage s takes no answers now.
func canAnswer(k *state.Kickoff, s state.Stage) error {
	if k.Stage == s && k.Window.Phase == state.PhaseOpen {
		return nil
	}
	if yetToCome(k, s) {
		return refuse("“%s” has not opened yet. You will see a message here when it does.", TitleOf(s))
	}
	return refuse("“%s” has closed, so this was not taken. If it matters, ask %s to reopen it.", TitleOf(s), leadName(k))
}

// canSettle reports, as a refusal, that stage s is not waiting for the lead.
// A lead may settle while the window is still open only by closing it first.
func canSettle(k *state.Kickoff, s state.Stage) error {
	if k.Stage == s && k.Window.Phase == state.PhaseSettling {
		return nil
	}
	if k.Stage == s {
		return refuse("People are still answering. Close the stage first, then settle it.")
	}
	if yetToCome(k, s) {
		return refuse("“%s” has not opened yet. It can be settled once people have answered.", TitleOf(s))
	}
	return refuse("“%s” has been settled already. Reopen it if it must change.", TitleOf(s))
}

// owing lists who was asked and has not finished.
func owing(k *state.Kickoff) []state.UserID {
	return lists.Keep(k.Window.Asked, func(u state.UserID) bool { return owes(k, u) })
}

// owes reports that somebody who was asked has not finished.
func owes(k *state.Kickoff, u state.UserID) bool { return !lists.Has(k.Window.Done, u) && k.Takes(u) }

// allFinished reports that nobody owes anything of those who were asked.
func allFinished(k *state.Kickoff) bool {
	return len(k.Window.Asked) > 0 && !slices.ContainsFunc(k.Window.Asked, func(u state.UserID) bool { return owes(k, u) })
}

// Heard counts those asked in w who gave anything there, whether or not they
// said that it was all. Who voted before a window was opened again still
// counts: their vote does.
func Heard(k *state.Kickoff, w state.Window) int {
	if w.Answers != nil {
		return min(w.Answers.Heard, len(w.Asked))
	}
	n := 0
	for _, u := range w.Asked {
		if lists.Has(w.Done, u) || stageOf(w.Stage).given(k, u, w.Round) {
			n++
		}
	}
	return n
}

func quorate(k *state.Kickoff) bool { return Heard(k, k.Window) >= k.Window.Quorum() }

// dueWindow closes the open window when everybody has finished or its time
// is up, and sends the reminders that are due before that.
func dueWindow(k *state.Kickoff, now time.Time) []Event {
	w := k.Window
	switch {
	case stageOf(w.Stage).held(k):
		return dueHeld(k, now)
	case allFinished(k):
		return closeWindow(k, state.ClosedComplete, now)
	case now.Before(w.Closes):
		return dueReminders(k, waitOf(k), now)
	case quorate(k) || w.Extended:
		return closeWindow(k, state.ClosedInTime, now)
	}
	return append([]Event{QuorumMissed{Stage: w.Stage, Closes: fairClose(k, now, workday, w.Asked)}}, dealAnew(k)...)
}

// QuorumMissed gives the window one more working day, and asks the lead
// whether to use it.
type QuorumMissed struct {
	Stage  state.Stage
	Closes time.Time
}

func (e QuorumMissed) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Window.Extended = true
	k.Window.Closes = e.Closes
}

func (e QuorumMissed) react(b *reaction) {
	b.tellLeads(ScreenQuorum, StageArg(e.Stage, b.k.Window.Round))
	stageOf(e.Stage).extended(b)
	b.progress()
}

// quorumAnswered takes the question whether to wait off the leads' screens.
func (b *reaction) quorumAnswered(s state.Stage) {
	b.update(ScreenQuorum, string(s))
	for n := range b.k.Rounds {
		b.update(ScreenQuorum, StageArg(s, n+1))
	}
}

// WindowClosed ends the taking of answers. Until is set when the lead has
// something to settle.
type WindowClosed struct {
	Stage state.Stage
	Why   state.CloseReason
	Thin  bool      `json:",omitempty"`
	Until time.Time `json:",omitzero"`

	Answers *state.Answers `json:",omitempty"`
}

// answersOf counts who has answered so far in the open window; nil where that
// is nobody's secret.
func answersOf(k *state.Kickoff) *state.Answers {
	w := k.Window
	if !IsBoxed(w.Stage) || w.Phase != state.PhaseOpen {
		return nil
	}
	return &state.Answers{Finished: w.Finished(), Heard: Heard(k, w)}
}

// countAnswers leaves of who answered in the window how many they are.
func countAnswers(w *state.Window, a *state.Answers) {
	if a != nil {
		w.Answers, w.Done = a, nil
	}
}

func (e WindowClosed) apply(k *state.Kickoff, at time.Time, _ state.UserID) {
	w := &k.Window
	countAnswers(w, e.Answers)
	w.Closed, w.Why, w.Thin, w.Until, w.Phase = at, e.Why, e.Thin, e.Until, state.PhaseClosed
	if !e.Until.IsZero() {
		w.Phase = state.PhaseSettling
	}
}

func (e WindowClosed) react(b *reaction) {
	for _, w := range slices.Backward(append(slices.Clone(b.k.Past), b.k.Window)) {
		if w.Stage == e.Stage && w.Phase != state.PhaseOpen {
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
func closeWindow(k *state.Kickoff, why state.CloseReason, now time.Time) []Event {
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
func settle(k *state.Kickoff, s state.Stage, check error, settled Event, now time.Time) ([]Event, error) {
	if err := cmp.Or(canSettle(k, s), check); err != nil {
		return nil, err
	}
	return settleStage(k, settled, now), nil
}

// settleStage settles what the present stage came to and opens the next one.
func settleStage(k *state.Kickoff, settled Event, now time.Time) []Event {
	return append([]Event{settled}, openNext(k, now)...)
}

// dueSettling takes the proposal as it stands when the lead was silent for a
// working day: one person's absence must not stop everybody else.
func dueSettling(k *state.Kickoff, now time.Time) []Event {
	if now.Before(k.Window.Until) {
		return nil
	}
	return settleStage(k, stageOf(k.Stage).silent(k), now)
}
