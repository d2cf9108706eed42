package bot_test

import (
	"strings"
	"testing"

	"soundings/bot/fakeslack"
)

// TestThePreviewOfTheSummary goes through the preview as the lead: pages cost
// no call, what is changed is posted so, and what is changed after that is
// brought up to date in the thread, which says so.
func TestThePreviewOfTheSummary(t *testing.T) {
	h := newHouse(t, plan{})
	for _, s := range script()[:7] { // up to the last step
		s.play(h)
	}
	h.press("ana", "open/close.preview")
	var calls []string
	h.ws.OnCall(func(c fakeslack.Call) { calls = append(calls, c.Method) })
	h.turn("ana", choice("go", "problem"))
	h.turn("ana", choice("go", "brief/0"))
	h.turn("ana", text("title", "Bicycles on deck"))
	for range 7 {
		h.turn("ana") // whichever way is chosen already
	}
	if h.top("ana").Title != "The summary" || len(calls) > 0 {
		t.Errorf("at “%s” %d calls were made: %v", h.top("ana").Title, len(calls), calls)
	}
	h.ws.OnCall(nil)
	h.fill("ana", choice("go", "post"))
	h.send("ana")
	h.settle()
	if said := h.slot("summary"); !strings.Contains(said, "Bicycles on deck") {
		t.Errorf("the summary is posted without the title that the lead gave it:\n%s", said)
	}

	h.press("ana", "open/close.preview")
	h.turn("ana", choice("go", "roles"))
	h.turn("ana", choice("go", "word/"))
	h.turn("ana", text("word", written("we begin on Thursday")))
	h.close("ana")
	h.settle()
	part := h.slot("part/roles")
	for _, want := range []string{"who leads:", written("we begin on Thursday"), "after the summary was posted"} {
		if !strings.Contains(part, want) {
			t.Errorf("the part in the thread does not say %q:\n%s", want, part)
		}
	}
	if said := h.slot("part/map"); strings.Contains(said, "after the summary was posted") {
		t.Errorf("a part that nobody changed says that it was:\n%s", said)
	}
}

// slot is every text of the message of that name in the channel.
func (h *house) slot(name string) string {
	h.t.Helper()
	for _, m := range h.ws.Messages(h.channel) {
		if m.Metadata != nil && m.Metadata.EventPayload["slot"] == name {
			return wordsOf(m.Blocks)
		}
	}
	h.t.Fatalf("no message %s stands in the channel", name)
	return ""
}
