package flows

import (
	"cmp"
	"slices"
	"time"

	"soundings/flows/event"
	"soundings/flows/hints"
	"soundings/flows/lists"
	"soundings/flows/state"
	"soundings/flows/workdays"
)

// This file holds the tidying of the list, before it is rated: a lead looks at what
// stands out. Nobody else is asked, but for the author of what a lead sends back.

// alikeLimit is how many characters of a text are compared, so that a list of long texts
// is looked through in time.
const alikeLimit = 400

// StandsOut lists what on the list may be hard to rate, by ids: two that look alike, or of
// which somebody who was asked found that they say the same, then each whose wording a hint
// is about. What a lead has left as it is does not
// stand out again in the same words.
func StandsOut(k *state.Kickoff) [][]string {
	var worded [][]string
	alike, index := state.FoundAlike(k), hints.Index{}
	for _, a := range k.Listed() {
		text := []rune(a.Text)
		short := string(text[:min(len(text), alikeLimit)])
		for _, m := range index.Similar(short, 1) {
			if pair := []string{m.ID, a.ID}; !slices.ContainsFunc(alike, func(found []string) bool { return slices.Equal(found, pair) }) {
				alike = append(alike, pair)
			}
		}
		index.Add(a.ID, short)
		if len(hints.Wording(a.Text)) > 0 {
			worded = append(worded, []string{a.ID})
		}
	}
	return slices.DeleteFunc(append(alike, worded...), func(about []string) bool { return state.HasLeft(k, about) })
}

// nothingToTidy passes over what nothing stands out for, and nobody has still time to find.
func nothingToTidy(k *state.Kickoff, now time.Time) bool {
	inTime := func(u state.UserID) bool { return now.Before(k.Tidying.Asked[u]) }
	return len(StandsOut(k)) == 0 && !slices.ContainsFunc(state.OwingAlike(k), inTime)
}

// openTidying puts the list before the lead, for a working day of theirs.
func openTidying(k *state.Kickoff, opened event.StageOpened, now time.Time) []event.Event {
	opened.Closes = now
	return []event.Event{opened,
		event.WindowClosed{Stage: opened.Stage, Why: state.ClosedComplete, Until: workdays.Had(k.LeadHours(), now, workday)},
		event.RemarksListed{Remarks: StandsOut(k)}}
}

func tidied(k *state.Kickoff) bool { return len(k.Tidying.Standing())+len(state.OwingAlike(k)) == 0 }

// leaveTheRest lets stand whatever nobody has mended in time.
func leaveTheRest(k *state.Kickoff) event.Event { return event.RemarksLeft{N: k.Tidying.Standing()} }

// LeaveRemarks lets remarks stay as they are.
type LeaveRemarks struct {
	ByLead
	N []int // numbers from 1; none: all that the lead has done nothing about
}

func (i LeaveRemarks) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	left := withoutRepeats(i.N)
	if len(left) == 0 {
		left = k.Tidying.Unseen()
	}
	if err := cmp.Or(canSettle(k, state.StageTidying), checkRemarks(k, left)); err != nil {
		return nil, err
	}
	standing := k.Tidying.Standing()
	left = lists.Keep(left, func(n int) bool { return slices.Contains(standing, n) })
	return when(len(left) > 0, event.RemarksLeft{N: left})
}

func checkRemarks(k *state.Kickoff, numbers []int) error {
	for _, n := range numbers {
		if lists.Nth(k.Tidying.Remarks, n) == nil {
			return refuse("That is not on the list to look at any more.")
		}
	}
	return nil
}

// SendBack asks the author of an assumption to look at it again, who has a working day
// for it. After that it stands as it is.
type SendBack struct {
	ByLead
	N    int    // of the remark
	Word string // what the author is told
}

func (i SendBack) decide(k *state.Kickoff, now time.Time) ([]event.Event, error) {
	if err := cmp.Or(canSettle(k, state.StageTidying), checkRemarks(k, []int{i.N}), checkText("word", "word to the author", i.Word, MaxSentence, true)); err != nil {
		return nil, err
	}
	f := k.Tidying.Remarks[i.N-1]
	a, _ := k.Assumption(f.About[0])
	author, _ := k.Person(a.By)
	return provided(cmp.Or(
		refuseIf(len(f.About) > 1, "", "These are two. Join them, or say that they are different."),
		refuseIf(f.Settled, "", "%s has been looked at already.", a.ID),
		refuseIf(f.Waits(), "", "%s was sent back already. You will see here what comes of it.", a.ID),
		refuseIf(a.By == i.Who, "word", "You wrote %s yourself, so change its words here.", a.ID),
	), event.AssumptionSentBack{N: i.N, Word: i.Word, Until: workdays.Had(k.HoursOf(author), now, workday)})
}

// afterTidying says what should follow from the list being tidied, and from its end.
func afterTidying(b *reaction, happened event.Event) {
	switch e := happened.(type) {
	case event.RemarksLeft:
		b.tidying()
	case event.AssumptionSentBack:
		b.tidying()
		if a, _ := b.k.Assumption(b.k.Tidying.Remarks[e.N-1].About[0]); b.k.Takes(a.By) {
			b.tell(ScreenBack, a.ID, a.By)
		}
	case event.AlikeAsked:
		for _, u := range state.OwingAlike(b.k) {
			b.tell(ScreenAlike, "", u)
		}
		b.tidying()
	case event.AlikeFound:
		b.update(ScreenAlike, "")
		b.tidying()
	case event.AssumptionEdited, event.AssumptionWithdrawn, event.AssumptionsJoined:
		if b.k.Stage == state.StageTidying {
			b.tidying()
		}
	case event.StageReopened:
		if e.Left == state.StageTidying {
			b.tidying()
		}
	case event.StageOpened:
		if len(b.k.Tidying.Remarks)+len(b.k.Tidying.Asked) > 0 && position(e.Stage) > position(state.StageTidying) && e.Round <= 1 && yetToCome(b.k, state.StageTimebox) {
			b.tidying()
			b.update(ScreenAlike, "")
			b.tidiedResult()
		}
	}
}

// tidying keeps current what leads see of it, and takes the buttons from those who need
// not look again at what they wrote any more.
func (b *reaction) tidying() {
	b.update(ScreenSettle, string(state.StageTidying))
	for _, f := range b.k.Tidying.Remarks {
		if !f.Until.IsZero() && (f.Settled || b.k.Stage != state.StageTidying) {
			b.update(ScreenBack, f.About[0])
		}
	}
}

// tidiedResult lets the channel see the list as it is rated.
func (b *reaction) tidiedResult() {
	slot := Slot{Screen: ScreenResult, Arg: string(state.StageAssumptions)}
	if _, posted := b.k.Posted[slot.Name()]; posted {
		b.refresh(slot.Screen, slot.Arg)
	}
}
