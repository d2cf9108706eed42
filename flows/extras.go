package flows

import (
	"strings"
	"time"
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

// AllExtras lists the extras in the order in which people are told of them.
func AllExtras() []Extra { return []Extra{ExtraCanvas, ExtraBookmark} }

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

// works takes the fault of an extra off the list.
func works(k *Kickoff, x Extra) {
	if drop(k, &k.Extras.Faults, x); len(k.Extras.Faults) == 0 {
		k.Extras.Faults = nil // as a snapshot gives it back
	}
}

// CanvasMade notes which canvas is the summary's, and that it stands current.
type CanvasMade struct{ ID string }

func (e CanvasMade) isNew(k *Kickoff) bool {
	return k.Extras.Canvas != e.ID || k.Extras.Faults[ExtraCanvas] != ""
}

func (e CanvasMade) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Extras.Canvas = e.ID
	works(k, ExtraCanvas)
}

// CanvasLost notes that somebody has deleted a canvas. The first one is made anew.
type CanvasLost struct{ ID string }

func (e CanvasLost) isNew(k *Kickoff) bool { return k.Extras.Canvas == e.ID && e.ID != "" }

func (e CanvasLost) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Extras.Canvas = ""
	k.Extras.Lost++
	if k.Extras.LetBe() {
		put(k, &k.Extras.Faults, ExtraCanvas, FaultDeleted)
	}
}

// BookmarkAdded notes which bookmark is the summary's.
type BookmarkAdded struct{ ID string }

func (e BookmarkAdded) isNew(k *Kickoff) bool { return k.Extras.Bookmark != e.ID }

func (e BookmarkAdded) apply(k *Kickoff, _ time.Time, _ UserID) {
	k.Extras.Bookmark = e.ID
	works(k, ExtraBookmark)
}

// BookmarkRemoved notes that there is no bookmark any more.
type BookmarkRemoved struct{}

func (BookmarkRemoved) isNew(k *Kickoff) bool { return k.Extras.Bookmark != "" }

func (BookmarkRemoved) apply(k *Kickoff, _ time.Time, _ UserID) { k.Extras.Bookmark = "" }

// ExtraMissed notes what could not be had, and will not be for now.
type ExtraMissed struct {
	What Extra
	Why  Fault
}

func (e ExtraMissed) isNew(k *Kickoff) bool { return k.Extras.Faults[e.What] != e.Why }

func (e ExtraMissed) apply(k *Kickoff, _ time.Time, _ UserID) {
	put(k, &k.Extras.Faults, e.What, e.Why)
}

func (CanvasMade) react(b *reaction)    { b.update(ScreenExtras, "") }
func (BookmarkAdded) react(b *reaction) { b.update(ScreenExtras, "") }
func (ExtraMissed) react(b *reaction)   { b.missing() }

func (CanvasLost) react(b *reaction) {
	if b.k.Extras.LetBe() {
		b.missing()
		return
	}
	b.canvas(UpdateCanvas)
}

// missing tells the lead what is not there. It is one message: what is found
// missing later is added to it, and whoever led then keeps it.
func (b *reaction) missing() {
	for name := range b.k.Posted {
		if strings.HasPrefix(name, ScreenExtras+"/") {
			b.update(ScreenExtras, "")
			return
		}
	}
	b.tell(ScreenExtras, "", b.k.Lead().ID)
}
