package flows

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// GiveReason says, signed or unsigned, what others may not know about a
// split assumption.
type GiveReason struct {
	By
	Assumption string
	Text       string
	Signed     bool
}

func (i GiveReason) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return provided(cmp.Or(wasSplit(k, i.Assumption), checkText("text", "reason", i.Text, MaxText, true)),
		event.ReasonGiven{N: len(k.Reasons) + 1, Assumption: i.Assumption, Text: i.Text, Signed: i.Signed})
}

// While people rate again, what a lead thinks comes last: a reason with the name of
// a lead waits until somebody else has given one, or the rating has closed. Without a
// name it has no authority, and does not wait.

// Waits reports whether a reason of u about an assumption, with their name, waits.
func Waits(k *state.Kickoff, u state.UserID, assumption string) bool {
	rating := k.Stage == state.StageRating && k.Window.Phase == state.PhaseOpen
	return rating && k.IsLead(u) && !slices.ContainsFunc(k.Reasons, func(r state.Reason) bool { return r.Assumption == assumption && !k.IsLead(r.By) })
}

// ReasonsOn are the reasons about an assumption that may be shown: those of leads
// after the others, else in the order in which they came.
func ReasonsOn(k *state.Kickoff, assumption string) []state.Reason {
	var others, leads []state.Reason
	for _, r := range k.Reasons {
		switch {
		case r.Assumption != assumption:
		case !k.IsLead(r.By):
			others = append(others, r)
		case !Waits(k, r.By, assumption):
			leads = append(leads, r)
		}
	}
	return append(others, leads...)
}

// reasonGiven shows a reason in its thread, and after it those that waited for it.
func (b *reaction) reasonGiven(e event.ReasonGiven) {
	if !Waits(b.k, b.k.Reasons[e.N-1].By, e.Assumption) {
		b.reason(b.k.Reasons[e.N-1])
		b.waitedReasons(e.Assumption)
	}
	if !e.Signed && len(b.k.UnsignedReasons(e.Assumption)) == FewestReasons {
		b.tellLeads(ScreenDesk, "") // from now on they may sum them up
	}
}

func (b *reaction) reason(r state.Reason) {
	b.showUnder(ScreenReason, strconv.Itoa(r.N), Slot{Screen: ScreenSplit, Arg: r.Assumption}.Name())
}

// waitedReasons shows the signed reasons about an assumption that stand nowhere yet.
func (b *reaction) waitedReasons(assumption string) {
	for _, r := range ReasonsOn(b.k, assumption) {
		_, posted := b.k.Posted[Slot{Screen: ScreenReason, Arg: strconv.Itoa(r.N)}.Name()]
		if r.By != "" && !posted {
			b.reason(r)
		}
	}
}

// ratingClosed shows what waited until the rating has closed.
func ratingClosed(b *reaction) {
	for _, a := range b.k.Assumptions {
		b.waitedReasons(a.ID)
	}
}
