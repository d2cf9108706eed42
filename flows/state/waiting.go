package state

import (
	"time"

	"soundings/flows/lists"
)

// Owing lists who was asked and has not finished.
func Owing(k *Kickoff) []UserID {
	return lists.Keep(k.Window.Asked, func(u UserID) bool { return Owes(k, u) })
}

// Owes reports that somebody who was asked has not finished.
func Owes(k *Kickoff, u UserID) bool { return !lists.Has(k.Window.Done, u) && k.Takes(u) }

// A Wait is what a kickoff waits for: a window, a check-in or a vote in which
// people answer, or the lead's word on what it came to.
type Wait struct {
	Opened time.Time
	End    *time.Time              // in the state, so that it can be moved; nil when it waits for nobody
	Asked  []UserID                // who is waited for
	Owing  func(*Kickoff) []UserID // of these, who is reminded; nil when nobody is
}

// WaitOf is what k waits for now; the zero wait is for nobody.
func WaitOf(k *Kickoff) Wait {
	lead := []UserID{k.Lead().ID}
	if k.Stage != StageUnderway {
		if k.Window.Phase == PhaseSettling {
			return Wait{End: &k.Window.Until, Asked: lead}
		}
		return Wait{Opened: k.Window.Opened, End: &k.Window.Closes, Asked: k.Window.Asked, Owing: Owing}
	}
	d := &k.Underway.Decision
	switch c := OpenCheckin(k); {
	case c != nil:
		return Wait{Opened: c.Opened, End: &c.Closes, Asked: k.InRing(Core), Owing: owingCheckin}
	case d.Phase == PhaseOpen:
		return Wait{Opened: d.Opened, End: &d.Closes, Asked: k.Participants(), Owing: OwingDecision}
	case d.Phase == PhaseSettling:
		return Wait{End: &d.Until, Asked: lead}
	}
	return Wait{}
}

// OwingDecision lists who has not voted in the decision.
func OwingDecision(k *Kickoff) []UserID {
	return lists.Keep(k.Participants(), func(u UserID) bool { return !lists.Has(k.Underway.Decision.Votes, u) })
}

// OpenCheckin is the open check-in, or nil.
func OpenCheckin(k *Kickoff) *Checkin {
	if n := len(k.Underway.Checkins); n > 0 && k.Underway.Checkins[n-1].Closed.IsZero() {
		return &k.Underway.Checkins[n-1]
	}
	return nil
}

// OwnCheckin is the open check-in, to be changed.
func OwnCheckin(k *Kickoff) *Checkin {
	Own(k, &k.Underway.Checkins)
	return OpenCheckin(k)
}

// owingCheckin lists the core people who have not voted their confidence.
func owingCheckin(k *Kickoff) []UserID {
	c := OpenCheckin(k)
	return lists.Keep(k.InRing(Core), func(u UserID) bool { return !lists.Has(c.Confidence, u) && k.Takes(u) })
}
