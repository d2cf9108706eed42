package rehearsal

import "errors"

// A Guest is a bot that somebody serves by themselves and lets into a
// rehearsal instead of ours, to see whether it is set up as it should be. Its
// clock is the machine's, so the workspace's is too. The zero value is none.
type Guest struct {
	Socket bool   // it comes by Socket Mode
	URL    string // it waits at this base address for signed requests, without /slack/…
}

// Expected reports whether there is to be a guest.
func (g Guest) Expected() bool { return g.Socket || g.URL != "" }

// What a guest is set up with. Any tokens will do, if they begin as they
// should; the secret is the one that signs.
const (
	GuestBotToken      = "xoxb-rehearsal"
	GuestAppToken      = "xapp-rehearsal"
	GuestSigningSecret = secret
)

// errOwnTime is what asking the clock of a guest to leap comes to.
var errOwnTime = errors.New("the clock is this machine's and does not leap. A step closes as soon as everybody has answered, or when the lead closes it")
