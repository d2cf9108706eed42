package flows

import (
	"strings"
	"time"

	"soundings/flows/state"
)

// AllExtras lists the extras in the order in which people are told of them.
func AllExtras() []state.Extra { return []state.Extra{state.ExtraCanvas, state.ExtraBookmark} }

// works takes the fault of an extra off the list.
func works(k *state.Kickoff, x state.Extra) {
	if state.Drop(k, &k.Extras.Faults, x); len(k.Extras.Faults) == 0 {
		k.Extras.Faults = nil // as a snapshot gives it back
	}
}

// CanvasMade notes which canvas is the summary's, and that it stands current.
type CanvasMade struct{ ID string }

func (e CanvasMade) isNew(k *state.Kickoff) bool {
	return k.Extras.Canvas != e.ID || k.Extras.Faults[state.ExtraCanvas] != ""
}

func (e CanvasMade) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Extras.Canvas = e.ID
	works(k, state.ExtraCanvas)
}

// CanvasLost notes that somebody has deleted a canvas. The first one is made anew.
type CanvasLost struct{ ID string }

func (e CanvasLost) isNew(k *state.Kickoff) bool { return k.Extras.Canvas == e.ID && e.ID != "" }

func (e CanvasLost) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Extras.Canvas = ""
	k.Extras.Lost++
	if k.Extras.LetBe() {
		state.Put(k, &k.Extras.Faults, state.ExtraCanvas, state.FaultDeleted)
	}
}

// BookmarkAdded notes which bookmark is the summary's.
type BookmarkAdded struct{ ID string }

func (e BookmarkAdded) isNew(k *state.Kickoff) bool { return k.Extras.Bookmark != e.ID }

func (e BookmarkAdded) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Extras.Bookmark = e.ID
	works(k, state.ExtraBookmark)
}

// BookmarkRemoved notes that there is no bookmark any more.
type BookmarkRemoved struct{}

func (BookmarkRemoved) isNew(k *state.Kickoff) bool { return k.Extras.Bookmark != "" }

func (BookmarkRemoved) apply(k *state.Kickoff, _ time.Time, _ state.UserID) { k.Extras.Bookmark = "" }

// ExtraMissed notes what could not be had, and will not be for now.
type ExtraMissed struct {
	What state.Extra
	Why  state.Fault
}

func (e ExtraMissed) isNew(k *state.Kickoff) bool { return k.Extras.Faults[e.What] != e.Why }

func (e ExtraMissed) apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Put(k, &k.Extras.Faults, e.What, e.Why)
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
