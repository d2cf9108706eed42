package flows

import "time"

// Posted reports that the message of a slot now stands in the chat.
type Posted struct {
	FromShell
	Slot    string // its name
	Posting Posting
}

func (i Posted) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	return when(k.Posted[i.Slot] != i.Posting, MessagePosted{Slot: i.Slot, Posting: i.Posting})
}

// MessagePosted notes where the message of a slot stands.
type MessagePosted struct {
	Slot    string
	Posting Posting
}

func (e MessagePosted) apply(k *Kickoff, _ time.Time, _ UserID) { put(&k.Posted, e.Slot, e.Posting) }

// MoveChannel reports that the chat platform gave the channel another id.
type MoveChannel struct {
	FromShell
	To string
}

func (i MoveChannel) decide(k *Kickoff, _ time.Time) ([]Event, error) {
	return when(k.Channel != i.To, ChannelMoved{From: k.Channel, To: i.To})
}

// ChannelMoved says under which id the channel is known now.
type ChannelMoved struct{ From, To string }

func (e ChannelMoved) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Channel = e.To
	for slot, p := range k.Posted {
		if p.Channel == e.From {
			p.Channel = e.To
			k.Posted[slot] = p
		}
	}
}

// Author is the name under which an intent is written down. An unsigned
// reason is written down without one: what the journal does not know,
// nobody can find there.
func Author(in Intent) UserID {
	if r, ok := in.(GiveReason); ok && !r.Signed {
		return ""
	}
	return in.actor()
}
