package flows

import (
	"slices"
	"time"
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

func (StageOpened) kind() string { return "stage-opened" }
func (e StageOpened) apply(k *Kickoff, at time.Time, _ UserID) {
	k.shelve()
	k.Stage = e.Stage
	asked := slices.Clone(e.Asked) // the window's list changes as people come and go, the event's never
	k.Window = Window{Stage: e.Stage, Round: e.Round, Opened: at, Closes: e.Closes, Asked: asked, Phase: PhaseOpen}
}

// shelve puts the last window away: it waits for nothing any more.
func (k *Kickoff) shelve() {
	if k.Window.Stage != "" {
		k.Window.Phase = PhaseClosed
		k.Past = append(k.Past, k.Window)
	}
}

// open is the event that opens a stage now, for everyone who takes part.
func (k *Kickoff) open(s Stage, round int, now time.Time) StageOpened {
	asked := k.askedIn(s)
	return StageOpened{Stage: s, Round: round, Asked: asked, Closes: k.fairClose(now, k.pace(), asked)}
}

func (k *Kickoff) pace() time.Duration { return time.Duration(max(k.Pace, 1)) * workday }

// askedIn lists who is asked in a stage. Everybody is, in whichever ring:
// rings say who works and who is told later, but the blind judgement of a
// stakeholder counts as much as that of the core. Only the closing words are
// the leads' to write.
func (k *Kickoff) askedIn(s Stage) []UserID {
	if s == StageClose {
		return k.leading()
	}
	return k.Participants()
}

// FinishedStage says that somebody has given all they want to give in the
// open window. They may still change it until it closes.
type FinishedStage struct{ Stage Stage }

func (FinishedStage) kind() string { return "finished-stage" }
func (e FinishedStage) apply(k *Kickoff, at time.Time, by UserID) {
	if k.Window.Stage == e.Stage && k.Window.Phase == PhaseOpen {
		put(&k.Window.Done, by, at)
	}
}

// finish marks who as finished, once.
func (k *Kickoff) finish(who UserID) []Event {
	if _, done := k.Window.Done[who]; done {
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
	if err := k.takes(i.Stage); err != nil {
		return nil, err
	}
	if i.Round != k.Window.Round {
		return nil, refuse("That round of rating has closed. Open your ballot again from the newest message.")
	}
	return k.finish(i.Who), nil
}

// takes reports, as a refusal, that stage s takes no answers now.
func (k *Kickoff) takes(s Stage) error {
	if k.Stage == s && k.Window.Phase == PhaseOpen {
		return nil
	}
	if k.yetToCome(s) {
		return refuse("The stage “%s” has not opened yet. You will see a message here when it does.", s)
	}
	return refuse("The stage “%s” has closed, so this was not taken. If it matters, ask %s to reopen it.", s, k.leadName())
}

// yetToCome reports whether stage s comes after the present one.
func (k *Kickoff) yetToCome(s Stage) bool {
	return slices.Index(Stages(), k.Stage) < slices.Index(Stages(), s)
}

// settles reports, as a refusal, that stage s is not waiting for the lead.
// A lead may settle while the window is still open only by closing it first.
func (k *Kickoff) settles(s Stage) error {
	if k.Stage == s && k.Window.Phase == PhaseSettling {
		return nil
	}
	if k.Stage == s {
		return refuse("People are still answering. Close the stage first, then settle it.")
	}
	if k.yetToCome(s) {
		return refuse("The stage “%s” has not opened yet. It can be settled once people have answered.", s)
	}
	return refuse("The stage “%s” has been settled already. Reopen it if it must change.", s)
}

// owing lists who was asked and has not finished.
func (k *Kickoff) owing() []UserID {
	var out []UserID
	for _, u := range k.Window.Asked {
		if _, done := k.Window.Done[u]; !done && k.Takes(u) {
			out = append(out, u)
		}
	}
	return out
}

// Heard counts those asked in w who gave anything there, whether or not they
// said that it was all. Who voted before a window was opened again still
// counts: their vote does.
func (k *Kickoff) Heard(w Window) int {
	n := 0
	for _, u := range w.Asked {
		if _, done := w.Done[u]; done || k.gave(u, w) {
			n++
		}
	}
	return n
}

// gave reports whether u has given an answer that the stage of w asks for.
func (k *Kickoff) gave(u UserID, w Window) bool {
	given := false
	switch w.Stage {
	case StageBrief:
		given = k.Brief.Read[u]
	case StageFraming:
		_, given = k.Framing.Votes[u]
	case StageRoles:
		_, given = k.Roles.Self[u]
	case StageAssumptions:
		given = slices.ContainsFunc(k.Assumptions, func(a Assumption) bool { return a.By == u && !a.Withdrawn })
	case StageRating:
		given = len(k.Ballot(w.Round, u)) > 0
	case StageBacklog:
		given = k.workedOnBacklog(u)
	case StageTimebox:
		_, given = k.Timebox.Votes[u]
	}
	return given
}

func (k *Kickoff) quorate() bool { return k.Heard(k.Window) >= k.Window.Quorum() }

// dueWindow closes the open window when everybody has finished or its time
// is up, and sends the reminders that are due before that.
func (k *Kickoff) dueWindow(now time.Time) []Event {
	w := k.Window
	switch {
	case w.Stage == StageClose && k.Held():
		return k.dueHeld(now)
	case len(k.owing()) == 0 && len(w.Asked) > 0:
		return k.closeWindow(ClosedComplete, now)
	case now.Before(w.Closes):
		return k.dueReminders(k.owing(), w.Opened, w.Closes, now)
	case k.quorate() || w.Extended:
		return k.closeWindow(ClosedInTime, now)
	}
	return []Event{QuorumMissed{Stage: w.Stage, Closes: k.fairClose(now, workday, w.Asked)}}
}

// QuorumMissed gives the window one more working day, and asks the lead
// whether to use it.
type QuorumMissed struct {
	Stage  Stage
	Closes time.Time
}

func (QuorumMissed) kind() string { return "quorum-missed" }
func (e QuorumMissed) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Window.Extended = true
	k.Window.Closes = e.Closes
}

// WindowClosed ends the taking of answers. Until is set when the lead has
// something to settle.
type WindowClosed struct {
	Stage Stage
	Why   CloseReason
	Thin  bool      `json:",omitempty"`
	Until time.Time `json:",omitzero"`
}

func (WindowClosed) kind() string { return "window-closed" }
func (e WindowClosed) apply(k *Kickoff, at time.Time, _ UserID) {
	w := &k.Window
	w.Closed, w.Why, w.Thin, w.Until, w.Phase = at, e.Why, e.Thin, e.Until, PhaseClosed
	if !e.Until.IsZero() {
		w.Phase = PhaseSettling
	}
}

// closeWindow closes the open window and adds what its stage makes of the
// answers: figures, something for the lead to settle, or the next stage.
func (k *Kickoff) closeWindow(why CloseReason, now time.Time) []Event {
	closed := WindowClosed{Stage: k.Stage, Why: why, Thin: !k.quorate()}
	switch k.Stage {
	case StageFraming, StageRoles, StageTimebox:
		closed.Until = hadWorked(k.Lead().Hours(), now, workday)
	}
	events := []Event{closed}
	switch k.Stage {
	case StageFraming:
		return append(events, k.countFraming())
	case StageRoles:
		return events // the rings are shown to the lead as they stand
	case StageRating:
		return append(events, k.countRound(now)...)
	case StageTimebox:
		return append(events, k.countWeeks())
	case StageClose:
		return append(events, k.postSummary(now)...)
	}
	return append(events, k.openNext(now)...)
}

// dueSettling takes the proposal as it stands when the lead was silent for a
// working day: one person's absence must not stop everybody else.
func (k *Kickoff) dueSettling(now time.Time) []Event {
	if now.Before(k.Window.Until) {
		return nil
	}
	switch k.Stage {
	case StageFraming:
		return k.settleFraming(k.proposedProblem(), k.Framing.Level.Level, now)
	case StageRoles:
		return k.settleRoles(k.Roles.Settled, now)
	default:
		return k.setTimebox(k.proposedTimebox(), now)
	}
}

// openNext opens the stage that follows the present one.
func (k *Kickoff) openNext(now time.Time) []Event {
	switch next := k.Stage.next(); next {
	case StageRating:
		return k.openFirstRound(now)
	case StageTimebox:
		return []Event{k.open(next, 0, now), k.proposeWeeks()}
	case StageRoles:
		if k.Roles.Skipped {
			return []Event{k.open(StageAssumptions, 0, now)}
		}
		fallthrough
	default:
		return []Event{k.open(next, 0, now)}
	}
}
