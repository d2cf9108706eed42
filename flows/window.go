package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// This file holds what all stages share: a window opens, people finish, it
// closes at a fair moment, and where the result needs it the lead settles.

// openStage is the event that opens a window now, for everyone it asks.
func openStage(k *state.Kickoff, s state.Stage, now time.Time) event.StageOpened {
	asked := event.AskedIn(k, s)
	return event.StageOpened{Stage: s, Asked: asked, Closes: fairClose(k, now, paceOf(k), asked)}
}

func paceOf(k *state.Kickoff) time.Duration { return time.Duration(max(k.Pace, 1)) * workday }

// finish marks who as finished, once.
func finish(k *state.Kickoff, who state.UserID) []event.Event {
	if lists.Has(k.Window.Done, who) {
		return nil
	}
	return []event.Event{event.FinishedStage{Stage: k.Window.Stage}}
}

// finishOne marks who as finished with one answer of several. Until they have given
// all, the stage waits some minutes: whoever answers last must not find it closed
// before their next choice.
func finishOne(k *state.Kickoff, who state.UserID, all bool, now time.Time) []event.Event {
	switch {
	case all && lists.Has(k.Window.Choosing, who):
		return []event.Event{event.FinishedStage{Stage: k.Window.Stage}}
	case all || lists.Has(k.Window.Done, who):
		return finish(k, who)
	}
	return []event.Event{event.FinishedStage{Stage: k.Window.Stage, Until: now.Add(nextChoice)}}
}

// nextChoice is how long somebody takes at most to answer what else a message asks
// (common practice, no source).
const nextChoice = 10 * time.Minute

// Finish is a person's "that is all from me" in the stage named. Naming it
// keeps a button of yesterday's stage from finishing today's.
type Finish struct {
	By
	Stage state.Stage
	Round int
}

func (i Finish) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
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

// allFinished reports that nobody owes anything of those who were asked.
func allFinished(k *state.Kickoff) bool {
	return len(k.Window.Asked) > 0 && !slices.ContainsFunc(k.Window.Asked, func(u state.UserID) bool { return state.Owes(k, u) })
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

// stillChoosing is until when a window waits for somebody's next choice though everybody
// has finished; zero when for nobody's.
func stillChoosing(k *state.Kickoff) time.Time {
	var last time.Time
	if !allFinished(k) {
		return last
	}
	for u, until := range k.Window.Choosing {
		if until.After(last) && k.Takes(u) {
			last = until
		}
	}
	return last
}

func quorate(k *state.Kickoff) bool { return Heard(k, k.Window) >= k.Window.Quorum() }

// dueWindow closes the open window when everybody has finished or its time
// is up, and sends the reminders that are due before that.
func dueWindow(k *state.Kickoff, now time.Time) []event.Event {
	w := k.Window
	switch {
	case stageOf(w.Stage).held(k):
		return dueHeld(k, now)
	case allFinished(k) && !now.Before(stillChoosing(k)):
		return closeWindow(k, state.ClosedComplete, now)
	case now.Before(w.Closes):
		return dueReminders(k, state.WaitOf(k), now)
	case quorate(k) || w.Extended:
		return closeWindow(k, state.ClosedInTime, now)
	}
	return append([]event.Event{event.QuorumMissed{Stage: w.Stage, Closes: fairClose(k, now, workday, w.Asked)}}, dealAnew(k)...)
}

// quorumAnswered takes the question whether to wait off the leads' screens.
func (b *reaction) quorumAnswered(s state.Stage) {
	b.update(ScreenQuorum, string(s))
	for n := range b.k.Rounds {
		b.update(ScreenQuorum, StageArg(s, n+1))
	}
}

// answersOf counts who has answered so far in the open window; nil where that
// is nobody's secret.
func answersOf(k *state.Kickoff) *state.Answers {
	w := k.Window
	if !event.IsBoxed(w.Stage) || w.Phase != state.PhaseOpen {
		return nil
	}
	return &state.Answers{Finished: w.Finished(), Heard: Heard(k, w)}
}

// closeWindow closes the open window and adds what follows from it: figures,
// and where the leads have nothing to settle another round or the next stage.
func closeWindow(k *state.Kickoff, why state.CloseReason, now time.Time) []event.Event {
	row := stageOf(k.Stage)
	counted, again := row.counts(k, now)
	if len(again) == 0 {
		counted = append(counted, event.Empty(string(k.Stage))...)
	}
	closed := event.WindowClosed{Stage: k.Stage, Why: why, Thin: !quorate(k), Answers: answersOf(k)}
	if row.settles == leadsOnceClosed {
		closed.Until = workdays.Had(k.LeadHours(), now, workday)
	}
	events := append([]event.Event{closed}, counted...)
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
func settle(k *state.Kickoff, s state.Stage, check error, settled event.Event, now time.Time) ([]event.Event, error) {
	if err := cmp.Or(canSettle(k, s), check); err != nil {
		return nil, err
	}
	return settleStage(k, settled, now), nil
}

// settleStage settles what the present stage came to and opens the next one.
func settleStage(k *state.Kickoff, settled event.Event, now time.Time) []event.Event {
	return append([]event.Event{settled}, openNext(k, now)...)
}

// dueSettling takes the proposal as it stands when the lead was silent for a
// working day: one person's absence must not stop everybody else.
func dueSettling(k *state.Kickoff, now time.Time) []event.Event {
	row := stageOf(k.Stage)
	switch {
	case row.early(k):
		return openNext(k, now)
	case now.Before(k.Window.Until):
		return nil
	}
	return settleStage(k, row.silent(k), now)
}

// afterWindow says what should follow from a window opening and closing.
func afterWindow(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.StageOpened:
		b.showStage(e.Stage, e.Round)
		b.tellLeads(ScreenDesk, "")
		if stageOf(e.Stage).settles == leadsWhileOpen {
			b.tellLeads(ScreenSettle, string(e.Stage))
		}
	case event.FinishedStage:
		b.progress()
		b.desksLater()
	case event.QuorumMissed:
		b.tellLeads(ScreenQuorum, StageArg(e.Stage, b.k.Window.Round))
		stageOf(e.Stage).extended(b)
		b.progress()
	case event.WindowClosed:
		for _, w := range slices.Backward(append(slices.Clone(b.k.Past), b.k.Window)) {
			if w.Stage == e.Stage && w.Phase != state.PhaseOpen {
				b.showStage(w.Stage, w.Round)
				break
			}
		}
		if !e.Until.IsZero() {
			b.tellLeads(ScreenSettle, string(e.Stage))
			b.tellLeads(ScreenDesk, "") // closing and extending are over; opening again is not
		}
		b.quorumAnswered(e.Stage)
		stageOf(e.Stage).closed(b)
	}
}

// showStage shows the message of a stage, or of a round, where it has one.
func (b *reaction) showStage(s state.Stage, round int) {
	if stageOf(s).settles != leadsAlone {
		b.show(ScreenStage, StageArg(s, round))
	}
}
