package event

import (
	"time"

	"soundings/flows/state"
)

// works takes the fault of an extra off the list.
func works(k *state.Kickoff, x state.Extra) {
	if state.Drop(k, &k.Extras.Faults, x); len(k.Extras.Faults) == 0 {
		k.Extras.Faults = nil // as a snapshot gives it back
	}
}

// CanvasMade notes which canvas is the summary's, and that it stands current.
type CanvasMade struct{ ID string }

func (e CanvasMade) IsNew(k *state.Kickoff) bool {
	return k.Extras.Canvas != e.ID || k.Extras.Faults[state.ExtraCanvas] != ""
}

func (e CanvasMade) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Extras.Canvas = e.ID
	works(k, state.ExtraCanvas)
}

// CanvasLost notes that somebody has deleted a canvas. The first one is made anew.
type CanvasLost struct{ ID string }

func (e CanvasLost) IsNew(k *state.Kickoff) bool { return k.Extras.Canvas == e.ID && e.ID != "" }

func (e CanvasLost) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Extras.Canvas = ""
	k.Extras.Lost++
	if k.Extras.LetBe() {
		state.Put(k, &k.Extras.Faults, state.ExtraCanvas, state.FaultDeleted)
	}
}

// BookmarkAdded notes which bookmark is the summary's.
type BookmarkAdded struct{ ID string }

func (e BookmarkAdded) IsNew(k *state.Kickoff) bool { return k.Extras.Bookmark != e.ID }

func (e BookmarkAdded) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	k.Extras.Bookmark = e.ID
	works(k, state.ExtraBookmark)
}

// BookmarkRemoved notes that there is no bookmark any more.
type BookmarkRemoved struct{}

func (BookmarkRemoved) IsNew(k *state.Kickoff) bool { return k.Extras.Bookmark != "" }

func (BookmarkRemoved) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) { k.Extras.Bookmark = "" }

// ExtraMissed notes what could not be had, and will not be for now.
type ExtraMissed struct {
	What state.Extra
	Why  state.Fault
}

func (e ExtraMissed) IsNew(k *state.Kickoff) bool { return k.Extras.Faults[e.What] != e.Why }

func (e ExtraMissed) Apply(k *state.Kickoff, _ time.Time, _ state.UserID) {
	state.Put(k, &k.Extras.Faults, e.What, e.Why)
}
