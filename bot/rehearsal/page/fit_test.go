package page_test

import (
	"path/filepath"
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

// Every form that somebody fills in takes at most two screens of a phone of 390 by 844
// points (our choice, no source), with the twelve people and eighteen assumptions of the
// demo.
func TestFormsTakeTwoScreens(t *testing.T) {
	t.Parallel()
	const most = 2 * 844
	for who, labels := range map[string][]string{
		"ines": {"Start a kickoff", "Start a Kickoff"},
		"maya": {"Ask a Question", "Add a Wording", "Choose", "Name Somebody", "Add an Assumption", "Open My Ballot", "Name the Risks", "Add a Test", "See the Plan", "Add an Action", "Check In"},
	} {
		b := newBrowser(t, readScenario(t, "ferry.yaml"), who, 390)
		for _, label := range labels {
			switch {
			case label == "Start a Kickoff": // of the home tab, which asks for the channel as well
				b.visit("/as/" + who + "/home")
			case !b.offers(label):
				b.goOn(label)
			}
			b.press(label)
			b.until(`!!document.getElementById("form")`)
			tall := eval[int](b, `document.querySelector("#form > form").scrollHeight`)
			assert.LessOrEqual(t, tall, most, "the form behind %s is %d points tall", label, tall)
			t.Logf("%s: %d", label, tall)
			b.run(chromedp.Evaluate[chromedp.Void](`[...document.querySelectorAll("#form button")].find(e => ["Not Now", "Close", "Later", "Done"].includes(e.innerText.trim())).click()`))
			b.until(`!document.getElementById("form")`)
		}
	}
}
