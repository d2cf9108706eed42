package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/lists"
	"soundings/flows/state"
)

// This file holds the size of a kickoff: which stages it leaves out. A stage that is
// left out is not opened, and nothing of it is told. A lead can take it up again, also
// after its turn, as long as nothing was decided that rests on it.

// Optional lists the stages that a lead may leave out, in their order.
func Optional() []state.Stage {
	var all []state.Stage
	for _, row := range stages {
		if row.comes == optional {
			all = append(all, row.name)
		}
	}
	return all
}

// Small lists what a kickoff leaves out that only rates a list: who began it has the
// list, and wants the map of it and no more.
func Small() []state.Stage { return Optional() }

// Listing lists what a kickoff leaves out whose list stands at the start.
func Listing() []state.Stage {
	return []state.Stage{state.StageFraming, state.StageRoles, state.StageAssumptions}
}

// Choosable lists the stages on which a lead can still decide whether the kickoff
// has them: the open one, and those to come.
func Choosable(k *state.Kickoff) []state.Stage {
	return slices.DeleteFunc(Optional(), func(s state.Stage) bool {
		return !yetToCome(k, s) && (k.Stage != s || k.Window.Phase == state.PhaseClosed)
	})
}

// StagesOf lists the stages of a kickoff up to its summary, but for those that it
// leaves out. A stage that was left out only after people had answered in it is not
// one of them either.
func StagesOf(k *state.Kickoff) []state.Stage {
	var all []state.Stage
	for _, row := range stages[:position(state.StageUnderway)] {
		if row.settles != leadsAlone && !k.LeavesOut(row.name) {
			all = append(all, row.name)
		}
	}
	return all
}

// RatingToCome reports whether a lead can still say whose ratings count.
func RatingToCome(k *state.Kickoff) bool { return yetToCome(k, state.StageRating) }

// Passed lists the stages that were left out and whose turn is over, which a lead can
// still take up. What is rated rests on the problem and on the list, so these two stay
// as they are once a round was counted.
func Passed(k *state.Kickoff) []state.Stage {
	if k.Window.Phase != state.PhaseOpen || k.Window.Round > 1 || position(k.Stage) > position(state.StageClose) {
		return nil
	}
	counted := len(k.Rounds) > 0 && k.Rounds[0].Result != nil
	return slices.DeleteFunc(Optional(), func(s state.Stage) bool {
		settled := counted && (s == state.StageFraming || s == state.StageAssumptions)
		return !k.LeavesOut(s) || position(s) >= position(k.Stage) || settled
	})
}

// LeaveOut says which stages this kickoff passes over: these, and no others of those
// on which can still be decided. Of those that were passed already it takes some up:
// the first of them opens at once, and then comes what was open.
type LeaveOut struct {
	ByLead
	Stages []state.Stage
	TakeUp []state.Stage // of those that Passed lists
	Own    OwnRatings
}

// OwnRatings says whether a lead's own ratings count. It can be chosen until the rating
// opens: once somebody has rated, a choice could serve to move what comes first.
type OwnRatings int

// What can be chosen.
const (
	OwnAsBefore OwnRatings = iota
	OwnCount
	OwnLeftOut
)

// notRating lists those who do not rate once who has chosen.
func (i LeaveOut) notRating(k *state.Kickoff) []state.UserID {
	left := slices.DeleteFunc(slices.Clone(k.NotRating), func(u state.UserID) bool { return u == i.Who && i.Own == OwnCount })
	if i.Own == OwnLeftOut && k.Rates(i.Who) {
		left = append(left, i.Who)
	}
	return left
}

func (i LeaveOut) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	choosable, notRating := Choosable(k), i.notRating(k)
	if err := cmp.Or(checkLeftOut(i.Stages), i.checkTakeUp(k), checkNotRating(k, notRating),
		refuseIf(len(choosable)+len(i.TakeUp) == 0, "", "No step that could be left out is still to come.")); err != nil {
		return nil, err
	}
	if k.Stage == state.StageAssumptions && slices.Contains(i.Stages, k.Stage) && len(k.Listed()) == 0 {
		return nil, refuseField("stages", "The list is empty, so there would be nothing to rate. Add an assumption first.")
	}
	for _, s := range i.Stages {
		if !slices.Contains(choosable, s) && !k.LeavesOut(s) {
			return nil, refuseField("stages", "“%s” is over already, so it cannot be left out any more.", TitleOf(s))
		}
	}
	left := slices.DeleteFunc(Optional(), func(s state.Stage) bool {
		if slices.Contains(choosable, s) {
			return !slices.Contains(i.Stages, s)
		}
		return !slices.Contains(k.LeftOut, s) || slices.Contains(i.TakeUp, s)
	})
	if slices.Equal(left, k.LeftOut) && slices.Equal(notRating, k.NotRating) {
		return nil, nil
	}
	events := []event.Event{event.StagesLeftOut{Stages: left, NotRating: notRating}}
	events[0].Apply(k, now, i.Who) // k is Decide's own copy: what opens next rests on it
	if len(i.TakeUp) > 0 {
		return append(events, takeUp(k, i.TakeUp, now)...), nil
	}
	if !k.LeavesOut(k.Stage) {
		return events, nil
	}
	events = append(events, event.WindowClosed{Stage: k.Stage, Why: state.ClosedSkipped, Answers: answersOf(k)})
	if k.Window.Phase == state.PhaseOpen {
		events = append(events, event.Empty(string(k.Stage))...)
	}
	return append(events, openNext(k, now)...), nil
}

func (i LeaveOut) checkTakeUp(k *state.Kickoff) error {
	passed := Passed(k)
	for _, s := range i.TakeUp {
		if !slices.Contains(passed, s) {
			return refuseField("stages", "“%s” cannot be taken up any more.", TitleOf(s))
		}
	}
	return refuseIf(len(i.TakeUp) > 0 && slices.Contains(i.Stages, k.Stage), "stages",
		"“%s” is open. Leave it out first, and then take up another step.", TitleOf(k.Stage))
}

func checkNotRating(k *state.Kickoff, left []state.UserID) error {
	if slices.Equal(left, k.NotRating) {
		return nil
	}
	others := lists.Keep(k.Participants(), func(u state.UserID) bool { return !slices.Contains(left, u) })
	return cmp.Or(
		refuseIf(!yetToCome(k, state.StageRating), "own", "The rating has opened, so whose ratings count stands. To change it, go back a step first."),
		refuseIf(len(others) == 0, "own", "Nobody else takes part yet, so nobody would rate."))
}

// takeUp opens the first of some stages that were passed, in the place of the one that
// is open. The others follow it.
func takeUp(k *state.Kickoff, some []state.Stage, now time.Time) []event.Event {
	first := slices.MinFunc(some, func(a, b state.Stage) int { return position(a) - position(b) })
	opened := openStage(k, first, now)
	events := stageOf(first).opens(k, opened, now)
	events[0] = event.StageReopened{Stage: first, Asked: opened.Asked, Closes: opened.Closes, Left: k.Window.Stage, LeftRound: k.Window.Round, TakenUp: true}
	return events
}

// passedAgain lists what a kickoff leaves out that goes back to stage s from one before
// it, which was taken up after its turn: that one, and those that would have followed it.
func passedAgain(k *state.Kickoff, s state.Stage) []state.Stage {
	return lists.Keep(Optional(), func(o state.Stage) bool {
		done := slices.ContainsFunc(k.Past, func(w state.Window) bool { return w.Stage == o })
		return slices.Contains(k.LeftOut, o) || position(o) < position(s) && !done
	})
}

func checkLeftOut(left []state.Stage) error {
	for _, s := range left {
		if !slices.Contains(Optional(), s) {
			return refuseField("stages", "Only these steps can be left out: framing, roles, assumptions, tests, and the time box.")
		}
	}
	return nil
}

// withoutTimebox lets a kickoff end with its summary: where there is no box, there is
// nothing to look after.
func withoutTimebox(k *state.Kickoff, _ time.Time) bool { return k.LeavesOut(state.StageTimebox) }

// endWithSummary is what follows the summary of a kickoff without a time box.
func endWithSummary(k *state.Kickoff, _ event.StageOpened, _ time.Time) []event.Event {
	return append(forgetForesight(k), event.SummaryEnded{})
}

// afterLeftOut says what should follow from stages being left out, and from a kickoff
// that ends with its summary.
func afterLeftOut(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.StagesLeftOut:
		b.progress() // it says which step it is, of how many
		b.tellLeads(ScreenDesk, "")
		for _, s := range Optional() {
			b.update(ScreenSettle, string(s))
		}
		b.notOpenNow()
	case event.SummaryEnded:
		b.tellLeads(ScreenDesk, "")
		b.add(Effect{Do: ReleaseChannel})
	}
}

// notOpenNow brings up to date the messages of stages that were open, and would be again:
// whether they will may be otherwise now.
func (b *reaction) notOpenNow() {
	for _, s := range StagesOf(&state.Kickoff{}) {
		slot := Slot{Screen: ScreenStage, Arg: string(s)}
		if s == state.StageRating {
			slot.Arg = StageArg(s, 1)
		}
		_, posted := b.k.Posted[slot.Name()]
		if posted && b.k.Stage != s && !slices.ContainsFunc(b.k.Past, func(w state.Window) bool { return w.Stage == s }) {
			b.add(Effect{Do: Show, Slot: slot})
		}
	}
}
