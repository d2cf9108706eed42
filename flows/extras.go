package flows

import (
	"strings"

	"soundings/flows/event"
	"soundings/flows/state"
)

// AllExtras lists the extras in the order in which people are told of them.
func AllExtras() []state.Extra { return []state.Extra{state.ExtraCanvas, state.ExtraBookmark} }

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

// afterExtras says what should follow from the canvas and the bookmark.
func afterExtras(b *reaction, happened event.Event) {
	switch happened.(type) {
	case event.CanvasMade, event.BookmarkAdded:
		b.update(ScreenExtras, "")
	case event.ExtraMissed:
		b.missing()
	case event.CanvasLost:
		if b.k.Extras.LetBe() {
			b.missing()
			return
		}
		b.canvas(UpdateCanvas)
	}
}
