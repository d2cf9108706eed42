package rehearsal

import (
	"fmt"

	"soundings/flows"
	"soundings/flows/state"
)

// Happened is what came of letting others act, or time pass.
type Happened struct {
	Deeds []Deed // in their order
	Moved string // how the kickoff has moved on, as a sentence; empty if it has not
}

// A Deed is something that a scripted person has done. Did completes "Ana …".
type Deed struct{ Who, Name, Did string }

// Any reports whether anything has happened.
func (h Happened) Any() bool { return len(h.Deeds) > 0 || h.Moved != "" }

// movedOn says how the kickoff has moved on from one standing to another.
func movedOn(from, to standing) string {
	a, b := from.kickoff, to.kickoff
	switch {
	case from.moment == to.moment || a.ID != b.ID || b.ID == "":
		return "" // it is somebody's deed that a kickoff begins; of somebody else's bot nothing is known
	case b.Stage == state.StageEnded:
		return "The kickoff has ended."
	case a.Stage == state.StageUnderway:
		return movedUnderway(a.Underway, b.Underway)
	case b.Stage == state.StageUnderway:
		return "The time box has begun."
	case a.Stage != b.Stage && b.Window.Phase == state.PhaseOpen:
		return fmt.Sprintf("“%s” is closed. Now: “%s”.", flows.TitleOf(a.Stage), flows.TitleOf(b.Stage))
	case a.Stage != b.Stage && b.Stage == state.StageTidying:
		return fmt.Sprintf("“%s” is closed: the lead looks through the list.", flows.TitleOf(a.Stage))
	case b.Window.Phase == state.PhaseSettling:
		return fmt.Sprintf("“%s” is closed: the lead settles it.", flows.TitleOf(b.Stage))
	case a.Window.Round != b.Window.Round:
		return "What people see differently is rated once more."
	case b.Window.Phase == state.PhaseOpen && a.Window.Phase == state.PhaseOpen:
		return "Too few have answered: there is one more working day."
	}
	return fmt.Sprintf("Now: “%s”.", flows.TitleOf(b.Stage))
}

func movedUnderway(a, b state.Underway) string {
	n := len(b.Checkins)
	switch {
	case n > len(a.Checkins):
		return fmt.Sprintf("Check-in %d is open.", n)
	case len(b.Decision.Earlier) > len(a.Decision.Earlier):
		return "It is decided: another time box."
	case a.Decision.Phase != b.Decision.Phase && b.Decision.Phase == state.PhaseOpen:
		return "People vote on how to go on."
	case a.Decision.Phase != b.Decision.Phase && b.Decision.Phase == state.PhaseSettling:
		return "The vote is closed: the lead decides."
	case n > 0 && a.Checkins[n-1].Closed.IsZero() && !b.Checkins[n-1].Closed.IsZero():
		return fmt.Sprintf("Check-in %d is closed.", n)
	}
	return ""
}
