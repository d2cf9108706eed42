package flows

import (
	"cmp"
	"strconv"
	"strings"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// This file holds how a kickoff ends before its time: a lead calls it off, its
// channel is gone, or nobody takes part any more. Nothing falls due after that, and
// ballots that were not counted are destroyed unread.

// CallOff ends a kickoff, whatever stage is open. Everybody reads the reason; it
// may be left out only where nobody could read it, since the channel is out of reach.
type CallOff struct {
	ByLead
	Why string // one sentence
}

func (i CallOff) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	why := strings.TrimSpace(i.Why)
	return provided(cmp.Or(
		refuseIf(why == "" && k.Unreachable.Why == "", "why", "Say in one sentence why the kickoff is called off; everybody in the channel reads it."),
		checkText("why", "reason", why, MaxSentence, false),
	), abandon(k, why)...)
}

// abandon ends a kickoff; what was not counted never will be.
func abandon(k *state.Kickoff, why string) []event.Event {
	events := event.EmptyAll(k)
	if w := k.Window; w.Phase == state.PhaseOpen && len(w.Done) > 0 && len(events) == 0 {
		events = event.Empty(string(w.Stage))
	}
	return append(events, event.Abandoned{Answers: answersOf(k), Why: why})
}

// Ended refuses what somebody wants of a kickoff that has ended. so says what
// became of it, as "nothing was changed".
func Ended(k *state.Kickoff, so string) error {
	if k.CalledOff.Why != "" {
		return refuse("This kickoff was called off, so %s. The reason stands in the channel, and so does what was found out until then.", so)
	}
	return refuse("This kickoff has ended, so %s. Its summary stays in the channel.", so)
}

// afterCallOff says what should follow from a kickoff ending before its time.
func afterCallOff(b *reaction, happened event.Event) {
	if _, is := happened.(event.Abandoned); !is {
		return
	}
	b.update(ScreenDesk, "")
	for _, j := range b.k.Asking {
		b.update(ScreenJoin, string(j.Person.ID))
	}
	b.update(ScreenOutside, "")
	b.update(ScreenUnreachable, strconv.Itoa(b.k.Unreachable.N))
	if b.k.Unreachable.Why == "" {
		b.leftOpen()
		b.notOpenNow()
	}
	if b.k.CalledOff.Why != "" && b.k.Unreachable.Why == "" {
		b.toldOff()
	}
	b.add(Effect{Do: ReleaseChannel})
}

// leftOpen takes the buttons off what was open when the kickoff ended.
func (b *reaction) leftOpen() {
	w := b.k.Past[len(b.k.Past)-1]
	if w.Stage != state.StageUnderway {
		b.show(ScreenStage, StageArg(w.Stage, w.Round))
		b.update(ScreenSettle, string(w.Stage))
		b.quorumAnswered(w.Stage)
		return
	}
	if c := state.OpenCheckin(b.k); c != nil {
		b.show(ScreenCheckin, strconv.Itoa(c.N))
	}
	if d := b.k.Underway.Decision; d.Phase != "" {
		b.show(ScreenDecision, b.decisionArg())
		b.update(ScreenSettle, "decision/"+b.decisionArg())
	}
}

// toldOff tells the channel, once, with the files as they are by then.
func (b *reaction) toldOff() {
	b.show(ScreenCalledOff, "")
	if !Held(b.k) {
		b.add(Effect{Do: ShareFiles, Slot: Slot{Screen: ScreenCalledOff}})
	}
	if b.k.Timebox.Starts.IsZero() {
		return
	}
	b.show(ScreenSummary, "")
	b.add(Effect{Do: Unpin, Slot: Slot{Screen: ScreenSummary}})
	b.add(Effect{Do: RemoveBookmark})
	b.canvas(UpdateCanvas)
}
