package fakeslack

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"soundings/bot/fakeslack/wire"
)

// What the tests of this package alone do to a team, or ask of it.

// Ephemerals lists what only user sees in a channel, oldest first: answers
// to commands among them.
func (client *Client) Ephemerals(channelID, user string) []Message {
	client.mu.Lock()
	defer client.mu.Unlock()
	return copyMessages(client.dir.at(channelID).ephemerals[user])
}

// AppID is the id of the bot's app.
func (t *Team) AppID() string { return t.app }

// VerifyURL asks the bot for the handshake that the platform wants before it
// delivers events to an address.
func (t *Team) VerifyURL(ctx context.Context) error {
	const challenge = "3eZbrw1aBm2rZgRNFdxV2595E9CY3gmdALWMmHkvFXO7tYXAYM8P"
	a, err := t.http.deliver(ctx, delivery{kind: eventDelivery, payload: reply{
		"token": verificationToken, "type": "url_verification", "challenge": challenge,
	}})
	if err != nil {
		return err
	}
	if v, err := wire.Decode(a.body); err == nil {
		if o, ok := v.(map[string]any); ok && wire.Str(o, "challenge") == challenge {
			return nil
		}
	}
	if string(a.body) == challenge {
		return nil
	}
	return fmt.Errorf("verify the events address: the challenge did not come back")
}

// Files lists what was uploaded and completed, in the order of the first
// step.
func (t *Team) Files() []File {
	t.mu.Lock()
	defer t.mu.Unlock()
	var out []File
	for _, id := range slices.Sorted(maps.Keys(t.files.byID)) {
		if f := t.files.byID[id]; f.done {
			out = append(out, *f)
		}
	}
	return out
}

// Pins lists the pinned messages of a channel.
func (t *Team) Pins(channelID string) []Message {
	t.mu.Lock()
	defer t.mu.Unlock()
	var out []Message
	for _, m := range t.dir.at(channelID).messages {
		if m.Pinned {
			out = append(out, *m)
		}
	}
	return out
}

// Disconnect tells every open socket to go, for one of the reasons above. The
// sockets take deliveries until others are open, and end after ten seconds; at
// once when Socket Mode was switched off.
func (t *Team) Disconnect(reason string) {
	for _, line := range t.sockets.all() {
		line.askToLeave(reason)
		if reason == DisconnectOff {
			line.hangUp()
		}
	}
}

// DropSockets ends every open socket without a word, as a network does.
func (t *Team) DropSockets() {
	for _, line := range t.sockets.all() {
		t.sockets.cut(line)
	}
}

// Sockets counts the sockets that the app has open. While there is one,
// nothing goes to the app's HTTP address.
func (t *Team) Sockets() int { return t.sockets.open() }

// NextRedelivery says when the next event that the bot did not take is due.
func (out *Outbox) NextRedelivery() (time.Time, bool) {
	out.mu.Lock()
	defer out.mu.Unlock()
	var next time.Time
	for _, e := range out.late {
		if next.IsZero() || e.due.Before(next) {
			next = e.due
		}
	}
	return next, !next.IsZero()
}
