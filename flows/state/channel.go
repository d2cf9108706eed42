package state

import "time"

// Unreachable says why the channel of a kickoff is out of reach.
type Unreachable struct {
	Why   UnreachableReason // empty: it is not
	N     int               // how often that was so, this time included; numbers the leads' notes
	Since int64             // what was to be shown after this version may not have been
}

// An UnreachableReason says what happened to a channel.
type UnreachableReason string

// The reasons.
const (
	ChannelArchived UnreachableReason = "archived"
	BotRemoved      UnreachableReason = "removed" // the bot is not in it any more
	ChannelDeleted  UnreachableReason = "deleted" // for good: the kickoff ends
)

// An Extra stands beside the messages of a kickoff in workplaces that have
// it: a convenience, on which nothing depends. Whatever goes wrong with one
// is told to the lead once, and holds nothing up.
type Extra string

// The extras.
const (
	ExtraCanvas   Extra = "canvas"   // a page of the channel with the summary on it
	ExtraBookmark Extra = "bookmark" // a link to the summary in the channel's header
)

// A Fault says why an extra is not there.
type Fault string

// The faults.
const (
	FaultScope   Fault = "scope"   // the app was not given the right
	FaultOff     Fault = "off"     // the workplace has switched it off
	FaultPlan    Fault = "plan"    // the workplace's plan does not have it
	FaultTaken   Fault = "taken"   // the channel has one, and the plan allows no second
	FaultFull    Fault = "full"    // there is no room for another
	FaultBarred  Fault = "barred"  // the rules of the workplace or the channel forbid it
	FaultLong    Fault = "long"    // there is too much on it
	FaultDeleted Fault = "deleted" // somebody deleted it again after it was made anew
	FaultRefused Fault = "refused" // the platform did not take it, and said nothing of use
)

// Extras is how the extras of a kickoff stand.
type Extras struct {
	Canvas   string          `json:",omitempty"` // id; empty when there is none
	Lost     int             `json:",omitempty"` // how often somebody deleted the canvas
	Bookmark string          `json:",omitempty"` // id; empty when there is none
	Faults   map[Extra]Fault `json:",omitempty"` // what is not there at present, and why
}

// LetBe reports that somebody deleted the canvas, and deleted it again when
// it was made anew: they do not want one.
func (e Extras) LetBe() bool { return e.Lost > 1 }

// A Loss is what was found lost last.
type Loss struct {
	After  int64     // everything up to this version is intact; zero: nothing was lost so far
	People []UserID  // whose entries are gone, as far as somebody had seen them
	Strays []Posting // messages that show what never was
}

// Seen is what was last seen of the channel.
type Seen struct {
	At      time.Time `json:",omitzero"`
	Outside bool      `json:",omitempty"` // people of another company read it, or are about to
	Canvas  string    `json:",omitempty"` // the channel's own canvas, of whoever made it; empty when it has none
	Agreed  bool      `json:",omitempty"` // a lead knows that others read it, and goes on
	By      UserID    `json:",omitempty"` // who agreed
}

// Summary is what the leads did to the summary itself.
type Summary struct {
	Words   map[string]LeadWord // part -> the lead's word about it
	Changed map[string]Change   // part -> when a lead last changed it, once it had been posted
}

// A LeadWord is what a lead says about a part of the summary.
type LeadWord struct {
	Text string
	By   UserID
}

// A Change is when something was changed, and by whom.
type Change struct {
	By UserID
	At time.Time
}
