package page_test

import (
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The page for people outside the chat fits a phone without scrolling
// sideways, and two sheets of paper.
func TestSummaryFitsAPhoneAndTwoSheets(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, readScenario(t, "ferry.yaml"), "maya", 360)
	b.run(chromedp.Navigate(summaryURL(t)))
	assert.LessOrEqual(t, eval[int](b, `document.documentElement.scrollWidth`), 360)
	assert.Contains(t, eval[string](b, `document.querySelector(".first li").innerText`), "Deckhands can count bicycles")
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
	require.NoError(t, err)
	assert.Regexp(t, `/Count 2\b`, string(pdf))
}

func summaryURL(t *testing.T) string {
	t.Helper()
	name, err := filepath.Abs("../../../testdata/golden/ferry/summary.html")
	require.NoError(t, err)
	return "file://" + filepath.ToSlash(name)
}

// A short form leaves the channel in sight, and tells when the program does
// not answer any more: it lies before everything else on the page.
func TestAShortFormIsShortAndTellsOfNoAnswer(t *testing.T) {
	t.Parallel()
	b := newBrowser(t, readScenario(t, "five.yaml"), "timo", 360)
	b.goOn("Ask a Question")
	b.press("Ask a Question")
	assert.Less(t, eval[int](b, `document.getElementById("form").offsetHeight`), 500)
	b.run(chromedp.Evaluate[chromedp.Void](`window.fetch = () => Promise.reject(new Error("it is away")); [...document.querySelectorAll("#form textarea")][0].value = "Why now?"; document.getElementById("form-submit").click()`))
	b.until(`!!document.querySelector("#form .offline")`)
	assert.Contains(t, eval[string](b, `document.querySelector("#form .offline").innerText`), "does not answer")
}

// mostTall is how tall a form may be: two screens of a phone of 390 by 844 points (our
// choice, no source).
const mostTall = 2 * 844

// Every form that somebody fills in takes at most two screens, with the twelve people and
// eighteen assumptions of the demo, and so does each in which its lead settles something.
func TestFormsTakeTwoScreens(t *testing.T) {
	t.Parallel()
	for who, labels := range map[string][]string{
		"ines": {"Start a kickoff", "Start a Kickoff"},
		"maya": {"Ask a Question", "Add a Wording", "Choose", "Name Somebody", "Change Places", "Add an Assumption", "Open My Ballot", "Name the Risks", "Add a Test", "See the Plan", "Set the Time Box", "Add an Action", "Preview the Summary", "Check In"},
	} {
		b := newBrowser(t, readScenario(t, "ferry.yaml"), who, 390)
		place := "/as/" + who + "/in/" + b.page.Team().Channels()[0].ID
		for _, label := range labels {
			asLead := slices.Contains([]string{"Change Places", "Set the Time Box", "Preview the Summary"}, label)
			switch {
			case label == "Start a Kickoff": // of the home tab, which asks for the channel as well
				b.visit("/as/" + who + "/home")
			case asLead:
				b.settlesAt(place, label)
			case !b.offers(label):
				b.goOn(label)
			}
			if label == "Choose" { // among all wordings
				b.press("Let the others act")
			}
			b.press(label)
			b.until(`!!document.getElementById("form")`)
			b.mustBeShort(label)
			b.mustFit()
			if label == "Preview the Summary" {
				b.readsOnShortPages()
			}
			b.leaves()
			if asLead {
				b.visit(place)
			}
		}
	}
}

// readsOnShortPages reads all of a preview, of which no page takes more than two screens.
func (b *browser) readsOnShortPages() {
	b.t.Helper()
	const ends = `document.querySelector("#form input[type=radio]:checked").closest("label").innerText.includes("Back to all parts")`
	for range 40 {
		b.press("Go On")
		b.mustBeShort(eval[string](b, `document.querySelector("#form h2, #form h1").innerText`))
		if eval[bool](b, ends) {
			return
		}
	}
	b.t.Fatal("the preview does not end")
}

// settlesAt goes to the home tab of the lead, once it offers something: while others act,
// the lead does too, so here only time passes.
func (b *browser) settlesAt(place, label string) {
	b.t.Helper()
	for range 6 {
		b.visit("/as/" + b.lead + "/home")
		if b.offers(label) {
			return
		}
		b.visit(place)
		b.press("To the next deadline")
	}
	b.t.Fatalf("the lead is never offered %q", label)
}

// mustBeShort fails where the open form takes more than two screens.
func (b *browser) mustBeShort(label string) {
	b.t.Helper()
	tall := eval[int](b, `document.querySelector("#form > form").scrollHeight`)
	assert.LessOrEqual(b.t, tall, mostTall, "the form behind %s is %d points tall", label, tall)
	b.t.Logf("%s: %d", label, tall)
}

// leaves closes the open form.
func (b *browser) leaves() {
	b.t.Helper()
	b.run(chromedp.Evaluate[chromedp.Void](`[...document.querySelectorAll("#form button")].find(e => ["Not Now", "Close", "Later", "Done"].includes(e.innerText.trim())).click()`))
	b.until(`!document.getElementById("form")`)
}
