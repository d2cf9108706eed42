package page_test

import (
	"strings"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
)

// readsTheSummary goes through the preview of the summary as a lead with a
// phone does, and changes one thing on the way.
func (b *browser) readsTheSummary() {
	b.t.Helper()
	b.visit("/as/" + b.lead + "/home")
	b.press("Preview the Summary")
	b.until(`document.activeElement.id === "form-title"`)
	b.mustFit()
	parts := map[string]bool{}
	for range 40 {
		b.press("Go On") // to the part that comes next
		title := eval[string](b, `document.getElementById("form").dataset.title`)
		if title == "The summary" {
			break
		}
		parts[title] = true
		b.mustFit()
		b.mustBeShort(title)
	}
	assert.Len(b.t, parts, 8, "the first message and each of the 7 parts is shown")
	b.mustBeShort("the list of parts")
	b.choose("The problem")
	b.press("Go On")
	b.choose("Change title and texts")
	b.press("Go On")
	b.mustFit()
	b.mustBeShort("Change title and texts")
	const bounds = "No new boats this summer."
	b.fill("Out of bounds (optional)", bounds)
	b.press("Save")
	got := eval[string](b, `document.getElementById("form").innerText`)
	assert.Contains(b.t, got, "Saved.", "after Save the part does not show what was typed")
	assert.Contains(b.t, got, bounds, "after Save the part does not show what was typed")
	b.mustFit()
	b.press("Close")
	b.visit(b.place())
}

// choose sets a radio button by its label, by the keyboard.
func (b *browser) choose(label string) {
	b.t.Helper()
	b.tabTo(`e.type === "radio"`)
	for range 12 {
		if strings.HasPrefix(eval[string](b, `document.activeElement.labels[0].innerText.trim()`), label) {
			return
		}
		b.keys(kb.ArrowDown)
	}
	b.t.Fatalf("no choice begins with %q", label)
}
