package event

import (
	"time"

	"soundings/flows/state"
)

// MessagePosted notes where the message of a slot stands.
type MessagePosted struct {
	Slot    string
	Posting state.Posting
}

func (e MessagePosted) IsNew(k *state.Kickoff) bool { return k.Posted[e.Slot] != e.Posting }

func (e MessagePosted) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Put(k, &k.Posted, e.Slot, e.Posting)
}

// ChannelMoved says under which id the channel is known now.
type ChannelMoved struct{ From, To string }

func (e ChannelMoved) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Channel = e.To
	for slot, p := range k.Posted {
		if p.Channel == e.From {
			p.Channel = e.To
			state.Put(k, &k.Posted, slot, p)
		}
	}
}
