package flows

import (
	"time"

	"soundings/flows/event"
	"soundings/flows/state"
)

// A Report is what the shell has done or seen, as the event that it is. What is
// known already is not written down again.
type Report struct {
	FromShell
	News interface {
		event.Event
		IsNew(k *state.Kickoff) bool
	}
}

func (i Report) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return when(i.News.IsNew(k), i.News)
}

// MoveChannel reports that the chat platform gave the channel another id.
type MoveChannel struct {
	FromShell
	To string
}

func (i MoveChannel) decide(k *state.Kickoff, _ time.Time) ([]event.Event, error) {
	return when(k.Channel != i.To, event.ChannelMoved{From: k.Channel, To: i.To})
}

// Author is the name under which an intent is written down. An unsigned
// reason is written down without one: what the journal does not know,
// nobody can find there.
func Author(in Intent) state.UserID {
	if r, ok := in.(GiveReason); ok && !r.Signed {
		return ""
	}
	return in.actor()
}
