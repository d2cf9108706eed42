package flows

import (
	"time"

	"soundings/flows/state"
)

// MessagePosted notes where the message of a slot stands.
type MessagePosted struct {
	Slot    string
	Posting state.Posting
}

func (e MessagePosted) isNew(k *state.Kickoff) bool { return k.Posted[e.Slot] != e.Posting }

func (e MessagePosted) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Put(k, &k.Posted, e.Slot, e.Posting)
}

// A Report is what the shell has done or seen, as the event that it is. What is
// known already is not written down again.
type Report struct {
	FromShell
	News interface {
		Event
		isNew(k *state.Kickoff) bool
	}
}

func (i Report) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	return when(i.News.isNew(k), i.News)
}

// MoveChannel reports that the chat platform gave the channel another id.
type MoveChannel struct {
	FromShell
	To string
}

func (i MoveChannel) decide(k *state.Kickoff, _ time.Time) ([]Event, error) {
	return when(k.Channel != i.To, ChannelMoved{From: k.Channel, To: i.To})
}

// ChannelMoved says under which id the channel is known now.
type ChannelMoved struct{ From, To string }

func (e ChannelMoved) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Channel = e.To
	for slot, p := range k.Posted {
		if p.Channel == e.From {
			p.Channel = e.To
			state.Put(k, &k.Posted, slot, p)
		}
	}
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
