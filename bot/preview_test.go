package bot_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"soundings/bot/fakeslack"
)

// TestThePreviewOfTheSummary goes through the preview as the lead: pages cost
// no call, what is changed is posted so, and what is changed after that is
// brought up to date in the thread, which says so.
func TestThePreviewOfTheSummary(t *testing.T) {
	t.Parallel()
	h := newTestBot(t, options{})
	for _, s := range script()[:7] { // up to the last step
		s.play(h)
	}
	h.press("ana", "open/close.preview")
	var calls []string
	h.ws.OnCall(func(c fakeslack.Call) { calls = append(calls, c.Method) })
	h.turn("ana", choice("go", "problem"))
	h.turn("ana", choice("go", "brief/0"))
	h.turn("ana", text("title", "Bicycles on deck"))
	for h.top("ana").Title != "The summary" && len(calls) == 0 {
		h.turn("ana") // whichever way is chosen already
	}
	assert.Equal(t, "The summary", h.top("ana").Title, "at “%s” %d calls were made", h.top("ana").Title, len(calls))
	assert.Empty(t, calls, "at “%s” %d calls were made", h.top("ana").Title, len(calls))
	h.ws.OnCall(nil)
	h.fill("ana", choice("go", "post"))
	h.send("ana")
	h.settle()
	assert.Contains(t, h.slot("summary"), "Bicycles on deck", "the summary is posted without the title that the lead gave it")

	h.press("ana", "open/close.preview")
	h.turn("ana", choice("go", "roles"))
	h.turn("ana", choice("go", "word/"))
	h.turn("ana", text("word", written("we begin on Thursday")))
	h.close("ana")
	h.settle()
	part := h.slot("part/roles")
	for _, want := range []string{"who leads:", written("we begin on Thursday"), "after the summary was posted"} {
		assert.Contains(t, part, want, "the part in the thread does not say")
	}
	assert.NotContains(t, h.slot("part/map"), "after the summary was posted", "a part that nobody changed says that it")
}

// slot is every text of the message of that name in the channel.
func (h *testBot) slot(name string) string {
	h.t.Helper()
	for _, m := range h.ws.Messages(h.channel) {
		if m.Metadata != nil && m.Metadata.EventPayload["slot"] == name {
			return wordsOf(m.Blocks)
		}
	}
	h.t.Fatalf("no message %s stands in the channel", name)
	return ""
}
